from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError
from django.db import IntegrityError

from coordinator.packing import whole
from coordinator.packing.package import NoPackage
from households.models import Building
from households.tenancy import inside


class Command(BaseCommand):
    help = (
        "Takes a whole building, people and all, into a file (export UID FILE), or brings one from a file into a "
        "database that doesn't have it (import FILE). For whoever runs the service: DATABASE_ROLE=owner."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        acts = parser.add_subparsers(dest="act", required=True)
        out = acts.add_parser("export")
        out.add_argument("uid", type=UUID)
        out.add_argument("file", type=Path)
        acts.add_parser("import").add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        file: Path = options["file"]
        if options["act"] == "export":
            try:
                with inside(options["uid"]) as building:
                    packed = whole.export(building)
            except Building.DoesNotExist:
                raise CommandError(f"There is no building {options['uid']}.") from None
            file.touch(mode=0o600)  # names and addresses are in it
            file.write_bytes(packed)
            self.stdout.write(f"{file}: {len(packed)} bytes. It holds names and addresses: keep it as such.")
            return
        try:
            uid = whole.bring_in(file.read_bytes())
        except NoPackage as error:
            raise CommandError(f"{error} Nothing was written.") from None
        except IntegrityError as error:
            raise CommandError(
                f"This database has that building, or rows of it. Nothing was written. ({error})"
            ) from None
        self.stdout.write(f"The building {uid} is there.")
