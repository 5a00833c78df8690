"""The one building that every run begins with: two drums, six households, forty days old."""

import datetime as dt
from dataclasses import dataclass
from uuid import UUID, uuid5

from django.db import transaction

from bins.founding.block import Block, Chamber
from bins.founding.founding import found_block
from bins.models import Batch, Drum, Place
from bins.people.joining import Joining, join
from coordinator.jobs.run import run_due
from households.models import Person, Site
from households.people import Newcomer
from households.tenancy import inside
from tests.cast import BASE

from .tally import DAY, LEAST_DROP_OFFS

FOUNDED = dt.datetime(2026, 5, 4, 16, 0, tzinfo=dt.UTC)  # a Monday, six in the evening in Berlin
BEGINS = FOUNDED + 40 * DAY  # the lot found in drum 1 has worked through its warm weeks
MAILED = ("A", "B")  # the others are paper residents


@dataclass(frozen=True)
class House:
    uid: UUID
    site: UUID
    caretaker: Person  # lives elsewhere
    people: tuple[Person, ...]  # one a household
    drums: tuple[Drum, ...]
    hatches: tuple[Place, ...]  # two a drum, in order
    lots: tuple[Batch, ...]


def found_house() -> House:
    """Found it and let its nights run up to the beginning. Call inside a transaction that is rolled back."""
    with transaction.atomic():
        block = Block(
            uid=uuid5(BASE, "Tally House"), name="Tally House", time_zone="Europe/Berlin", language="en",
            units="metric", site="Yard", air="outdoors", fallback="the brown bin", drums=2, chamber_litres=100,
            split="across", person="Ottilie", household="",
            chambers=(Chamber(1, "B", "closed", dt.date(2026, 2, 1), "half"),),
        )  # fmt: skip
        founded = found_block(block=block, email="ottilie@tally-house.invalid", now=FOUNDED)
    with inside(block.uid) as here:
        Site.objects.within(here).update(least_drop_offs=LEAST_DROP_OFFS)
        Batch.objects.within(here).update(least_drop_offs=LEAST_DROP_OFFS)
        people = []
        for name in "ABCDEF":
            email = f"{name.lower()}@tally-house.invalid" if name in MAILED else ""
            told = Joining(uuid5(here.uid, name), Newcomer(name, f"Flat {name}", email, ("resident",), "en"))
            people.append(join(building=here, told=told, by=None, now=FOUNDED))
    run_due(BEGINS)
    with inside(block.uid) as here:
        return House(
            block.uid,
            founded.drums[0].site.uid,
            founded.person,
            tuple(people),
            founded.drums,
            tuple(Place.objects.within(here).order_by("drum__number", "letter")),
            tuple(Batch.objects.within(here).select_related("drum", "place").order_by("pk")),
        )
