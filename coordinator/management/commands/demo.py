import datetime as dt
from argparse import ArgumentParser
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management import BaseCommand
from django.db import transaction
from django.utils import timezone

from coordinator import rows
from coordinator.demo import frozen, months, replay, rota
from coordinator.demo.block import LAST_DAY, LAST_DAYS, TIME_ZONE, UID, at, number_of
from households.models import Account
from households.tenancy import inside


class Command(BaseCommand):
    help = "Puts the invented block into an empty database; says so and does nothing where there are people."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--replay",
            action="store_true",
            help="live through its eighteen months anew, in their own years (some minutes), and freeze them: for "
            "whoever has changed a rule or what the people do",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if not replay.is_empty():
            self.stdout.write("The database has people already; the invented block was not added.")
        elif options["replay"]:
            self._replay()
        else:
            self._load(timezone.now())

    def _load(self, now: dt.datetime) -> None:
        yesterday = now.astimezone(ZoneInfo(TIME_ZONE)).date() - dt.timedelta(days=1)
        with transaction.atomic():
            frozen.load(days=(yesterday - LAST_DAY).days)
            with inside(UID) as here:
                rota.make(here, yesterday + dt.timedelta(days=1))
                months.close_over(here, at(here, yesterday, 21))
        self.stdout.write(f"{here.name} is there, with its last eighteen months.")

    def _replay(self) -> None:
        then: list[rows.Table] = []

        def keep(number: int) -> None:
            if number == number_of(LAST_DAY) - LAST_DAYS:
                with inside(UID) as here:
                    then.extend(frozen.take(here))

        replay.begin()
        replay.live(0, keep)
        with inside(UID) as here:
            emails = Account.objects.filter(is_demo=True).values_list("email", flat=True)
            frozen.write(then, frozen.take(here), emails, frozen.digest_of(here))
        self.stdout.write(f"Frozen in {frozen.FILE.name}: {frozen.FILE.stat().st_size} bytes.")
