"""Setting up a building: the block, its first place, its drums, and the person in charge."""

import datetime as dt
import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.db import transaction
from django.utils.translation import gettext as _

from bins.models import Drum, Place
from households.ledger import open_ledger
from households.models import Building, LedgerRow, Person, Role, Site
from households.people import Newcomer, admit_newcomer
from households.tenancy import found

from . import night
from .accepting import first_list
from .joining import assign
from .pails import first_pail
from .records import Reader
from .stages import open_batch

MARKS = (("A", Place.Shape.CIRCLE), ("B", Place.Shape.SQUARE))
MOST_DRUMS = 12


@dataclass(frozen=True)
class Block:
    """What is asked before the first pail: the block, where its drums stand, and who is in charge."""

    uid: UUID
    name: str
    time_zone: str
    language: str
    units: str
    site: str
    air: str
    fallback: str
    drums: int
    chamber_litres: int
    split: str
    person: str
    household: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], language: str) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        told = cls(
            uid=reader.uid(),
            name=reader.words("name", 120, _("What is the block called?")),
            time_zone=reader.choice("time_zone", sorted(zoneinfo.available_timezones())),
            language=language,
            units=reader.choice("units", [*Building.Units.values], Building.Units.METRIC),
            site=reader.words("site", 120, _("Where do the drums stand?")),
            air=reader.choice("air", [*Site.Air.values], Site.Air.OUTDOORS),
            fallback=reader.words("fallback", 300, _("Where shall scraps go while nothing is open?")),
            drums=reader.whole("drums", 1, MOST_DRUMS, 1) or 1,
            chamber_litres=reader.whole("chamber_litres", 10, 5000, 100) or 100,
            split=reader.choice("split", [*Drum.Split.values], Drum.Split.ACROSS),
            person=reader.words("person", 80, _("What is your name?")),
            household=reader.words("household", 60, ""),
        )
        reader.finish()
        return told


@dataclass(frozen=True)
class Founded:
    building: Building
    site: Site
    drums: tuple[Drum, ...]
    person: Person


def found_block(*, block: Block, email: str, now: dt.datetime) -> Founded:
    """Write a new building with everything that the first pail needs, in one transaction.

    Hatch A of each drum is open from the start; the person asking is caretaker, committee and, with a
    household, resident. The first night is promised. IntegrityError when the uid is taken.
    """
    with transaction.atomic():
        building = found(
            Building(
                uid=block.uid,
                name=block.name,
                time_zone=block.time_zone,
                language=block.language,
                units=block.units,
                created_at=now,
            )
        )
        site = Site.objects.create(
            building=building,
            uid=uuid5(block.uid, "site 1"),
            name=block.site,
            air=block.air,
            fallback=block.fallback,
        )
        first_pail(building, site, now)
        kinds = [Role.Kind.CARETAKER, Role.Kind.COMMITTEE, *([Role.Kind.RESIDENT] if block.household else [])]
        person = admit_newcomer(
            building=building,
            newcomer=Newcomer(block.person, block.household, email, tuple(kinds), block.language),
            by=None,
            now=now,
            uid=uuid5(block.uid, "person 1"),
        )
        with open_ledger(building) as ledger:
            first_list(ledger, site, person=person, via=LedgerRow.Via.WEB, now=now)
        drums = tuple(_add_drum(building, site, number, block, person, now) for number in range(1, block.drums + 1))
        if person.household:
            assign(building, person.household, drums[0])
        night.promise_first(building, now)
    return Founded(building, site, drums, person)


def _add_drum(building: Building, site: Site, number: int, block: Block, person: Person, now: dt.datetime) -> Drum:
    uid = uuid5(block.uid, f"drum {number}")
    drum = Drum.objects.create(building=building, uid=uid, site=site, number=number, split=block.split)
    chambers = [
        Place.objects.create(
            building=building,
            uid=uuid5(uid, letter),
            kind=Place.Kind.CHAMBER,
            site=site,
            drum=drum,
            letter=letter,
            shape=shape,
            litres=block.chamber_litres,
        )
        for letter, shape in MARKS
    ]
    with open_ledger(building) as ledger:
        open_batch(ledger, chambers[0], uid=uuid5(uid, "first"), person=person, via=LedgerRow.Via.WEB, at=now)
    return drum
