from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError

from coordinator import digest
from households.models import Building
from households.tenancy import inside


class Command(BaseCommand):
    help = "Prints a hash over each building's rows: equal for equal histories, however often they were interrupted."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--building", type=UUID, metavar="UID", help="only this one")
        parser.add_argument("--rows", action="store_true", help="print the rows themselves, to find a difference")

    def handle(self, *args: Any, **options: Any) -> None:
        one: UUID | None = options["building"]
        uids = [one] if one else list(Building.objects.order_by("uid").values_list("uid", flat=True))
        if not uids:
            self.stderr.write("No building is seen. The app role sees none unasked: DATABASE_ROLE=owner or --building.")
        for uid in uids:
            try:
                with inside(uid) as building:
                    lines = list(digest.rows_of(building))
            except Building.DoesNotExist:
                raise CommandError(f"There is no building {uid}.") from None
            for line in lines if options["rows"] else ():
                self.stdout.write(line)
            self.stdout.write(f"{digest.digest(lines)}  {uid}  {len(lines)} rows")
