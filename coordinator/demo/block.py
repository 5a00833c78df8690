"""The invented block itself: its name, its days, its drums."""

import datetime as dt
from uuid import UUID, uuid5

from bins.founding.block import Block
from bins.founding.founding import Founded, found_block
from bins.founding.permitting import Permissions, write_permissions
from bins.models import Drum, Place
from households.models import Building, Site
from households.tenancy import inside

UID = UUID("7d5c3a10-2f4b-4e7c-9a51-0c0ffee0b10c")
FIRST_DAY, LAST_DAY = dt.date(2025, 3, 1), dt.date(2026, 8, 31)  # eighteen months
LAST_DAYS = 30  # that the tests live through again
TIME_ZONE = "Europe/Berlin"
CHAMBER_LITRES = 500
PAIL_ML, CUP_ML = 8000, 1000
AIR_TENTHS_C = 180  # of the cellar, the year round


def day_of(number: int) -> dt.date:
    return FIRST_DAY + dt.timedelta(days=number)


def number_of(day: dt.date) -> int:
    """Days since the first one, which is 0."""
    return (day - FIRST_DAY).days


def at(building: Building, day: dt.date, hour: int, minute: int = 0) -> dt.datetime:
    """An instant by the building's own clock."""
    return building.instant(day, dt.time(hour, minute))


def uid(name: str) -> UUID:
    """The uid of a record, by what is done when: a second replay makes the same."""
    return uuid5(UID, name)


def found() -> Founded:
    """The block on its first morning, with Wanda in charge."""
    block = Block(
        uid=UID,
        name="Kettle Row 14",
        time_zone=TIME_ZONE,
        language="en",
        units="metric",
        site="Cellar",
        air=Site.Air.INDOORS,
        fallback="the brown bin by the gate",
        drums=3,
        chamber_litres=CHAMBER_LITRES,
        split=Drum.Split.ACROSS,
        person="Wanda",
        household="",
        pail_ml=PAIL_ML,
        cup_ml=CUP_ML,
    )
    morning = dt.datetime.combine(FIRST_DAY, dt.time(6, 30), tzinfo=dt.UTC)
    founded = found_block(block=block, email="wanda@demo.invalid", now=morning)
    yes = {"answer-owner": "yes", "on-owner": "2025-02-14", "answer-insurer": "yes", "on-insurer": "2025-02-20"}
    with inside(founded.building.uid) as here:
        write_permissions(
            building=here, site=founded.site, told=Permissions.from_raw(yes), person=founded.person, now=morning
        )
    return founded


def drums(here: Building) -> list[Drum]:
    return list(Drum.objects.within(here).select_related("site").order_by("number"))


def hatches(here: Building, drum: Drum) -> list[Place]:
    return list(Place.objects.within(here).filter(drum=drum).order_by("letter"))
