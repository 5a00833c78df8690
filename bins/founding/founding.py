"""Founding a building: the block, its first place, its drums with what is in them, and the people in charge."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import uuid5

from django.db import transaction

from bins.care.fullness import tell_residents
from bins.care.stages import open_batch
from bins.decisions import night
from bins.founding.block import EMPTY, FILLING, LETTERS, Block
from bins.founding.contents import write_found, write_levels
from bins.intake.accepting import first_list
from bins.mixing.pails import first_pail
from bins.models import Batch, Drum, Place
from bins.months import close
from bins.people.joining import assign
from households.ledger import Ledger, open_ledger
from households.models import Building, LedgerRow, Person, Role, Site
from households.people import Newcomer, admit_newcomer
from households.tenancy import found

IN_CHARGE = (Role.Kind.CARETAKER, Role.Kind.COMMITTEE)


@dataclass(frozen=True)
class Founded:
    building: Building
    site: Site
    drums: tuple[Drum, ...]
    person: Person


def found_block(*, block: Block, email: str, now: dt.datetime) -> Founded:
    """Write a new building with everything that the first pail needs, in one transaction.

    Each drum opens its first empty hatch, unless one is open already or none is empty. Whoever asks is
    caretaker, committee and, with a household, resident; so is the second person. The first night is promised.
    IntegrityError when the uid is taken.
    """
    with transaction.atomic():
        building = found(
            Building(
                uid=block.uid,
                name=block.name,
                time_zone=block.time_zone,
                language=block.language,
                second_language=block.second_language,
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
            cup_ml=block.cup_ml,
        )
        first_pail(building, site, now, block.pail_ml)
        person, second = _people_in_charge(building, block, email, now)
        with open_ledger(building) as ledger:
            first_list(ledger, site, person=person, via=LedgerRow.Via.WEB, now=now)
            drums = tuple(_add_drum(ledger, site, number, block, person, now) for number in range(1, block.drums + 1))
            open_ones = list(Batch.objects.within(building).filter(stage="filling").values_list("drum_id", flat=True))
            _share_drums(building, [person, second], [drum for drum in drums if drum.pk in open_ones] or drums)
            if not open_ones:
                tell_residents(ledger, site, now)
        night.promise_first(building, now)
        close.promise(building, building.local(now).date().replace(day=1))
    return Founded(building, site, drums, person)


def _people_in_charge(building: Building, block: Block, email: str, now: dt.datetime) -> tuple[Person, Person | None]:
    def admit(ordinal: int, name: str, household: str, email: str, by: Person | None) -> Person:
        kinds = [*IN_CHARGE, *([Role.Kind.RESIDENT] if household else [])]
        newcomer = Newcomer(name, household, email, tuple(kinds), block.language)
        uid = uuid5(block.uid, f"person {ordinal}")
        return admit_newcomer(building=building, newcomer=newcomer, by=by, now=now, uid=uid)

    person = admit(1, block.person, block.household, email, None)
    if not block.second_name:
        return person, None
    return person, admit(2, block.second_name, block.second_household, block.second_email, person)


def _share_drums(building: Building, people: Sequence[Person | None], drums: Sequence[Drum]) -> None:
    """One drum for each household, spread over those that are open."""
    homes = {person.household.pk: person.household for person in people if person and person.household}
    for ordinal, household in enumerate(homes.values()):
        assign(building, household, drums[ordinal % len(drums)])


def _add_drum(ledger: Ledger, site: Site, number: int, block: Block, person: Person, now: dt.datetime) -> Drum:
    building, uid, via = ledger.building, uuid5(block.uid, f"drum {number}"), LedgerRow.Via.WEB
    drum = Drum.objects.create(
        building=building, uid=uid, site=site, number=number, split=block.split, turns=block.turns
    )
    places = [
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
        for letter, shape in zip(LETTERS, block.shapes, strict=True)
    ]
    told = [(place, block.chamber(number, place.letter)) for place in places]
    stood = [
        (write_found(ledger, place, chamber, person=person, via=via, now=now), chamber)
        for place, chamber in told
        if chamber.found != EMPTY
    ]
    write_levels(ledger, drum, stood, person=person, via=via, now=now)
    empty = next((place for place, chamber in told if chamber.found == EMPTY), None)
    if empty is not None and not any(chamber.found == FILLING for _place, chamber in told):
        open_batch(ledger, empty, uid=uuid5(uid, "first"), person=person, via=via, at=now)
    return drum
