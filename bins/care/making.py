"""What a drum or a curing bin is made of: its wall and its vents, as they are now and as they were.

A new wall counts from when it was told, so that no forecast lives past days in a wall that was not there. Somebody
who tells for the first time what has been there for years says so, and then it counts from the beginning.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Self
from uuid import UUID

from bins.models import Place
from bins.records import Reader
from households.ledger import open_ledger
from households.models import Audit, Building, Person

MADE = "place-made"
EVER = dt.datetime.min.replace(tzinfo=dt.UTC)
ALWAYS, NOW = "always", "now"


@dataclass(frozen=True)
class Make:
    """Told of a drum, whose two halves are made alike, or of a curing bin."""

    subject: ClassVar[str]
    uid: UUID
    of_uid: UUID
    insulation: str  # a value of Place.Wall
    vents: str  # a value of Place.Airing
    since: str  # ALWAYS or NOW

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(
            uid=reader.uid(),
            of_uid=reader.uid(cls.subject),
            insulation=reader.choice("insulation", [*Place.Wall.values]),
            vents=reader.choice("vents", [*Place.Airing.values]),
            since=reader.choice("since", [ALWAYS, NOW]),
        )
        reader.finish()
        return told


class DrumMake(Make):
    subject = "drum"


class BinMake(Make):
    subject = "place"


@dataclass(frozen=True, slots=True)
class Made:
    """How a place was made from `since` on; EVER where nobody has told of another make before."""

    since: dt.datetime
    insulation: str
    vents: str


def set_make(*, building: Building, told: Make, person: Person | None, via: str, now: dt.datetime) -> list[Place]:
    """Say what a drum or a curing bin is made of; saying it again changes nothing.

    Raises Place.DoesNotExist for what is of another building.
    """
    bin_ = {"uid": told.of_uid, "kind": Place.Kind.CURING_BIN}
    with open_ledger(building):
        places = list(
            Place.objects.within(building)
            .filter(**({"drum__uid": told.of_uid} if isinstance(told, DrumMake) else bin_))
            .order_by("letter")
        )
        if not places:
            raise Place.DoesNotExist
        known = makes_of(building, places)
        for place in places:
            if _then(known[place.pk], told, now) == known[place.pk]:
                continue
            was = {"was_insulation": place.insulation, "was_vents": place.vents}
            place.insulation, place.vents = told.insulation, told.vents
            place.save(update_fields=["insulation", "vents"])
            Audit.note(
                building,
                person,
                MADE,
                now,
                place=str(place.uid),
                insulation=told.insulation,
                vents=told.vents,
                since=told.since,
                via=via,
                **was,
            )
    return places


def makes_of(building: Building, places: Iterable[Place]) -> dict[int, tuple[Made, ...]]:
    """By a place's key how it is made and was, in order of time, the first since EVER. One query."""
    notes: defaultdict[str, list[tuple[dt.datetime, dict[str, str]]]] = defaultdict(list)
    rows = Audit.objects.within(building).filter(act=MADE).order_by("at", "pk")
    for at, detail in rows.values_list("at", "detail"):
        notes[detail["place"]].append((at, detail))
    return {place.pk: _made(place, notes[str(place.uid)]) for place in places}


def _made(place: Place, notes: list[tuple[dt.datetime, dict[str, str]]]) -> tuple[Made, ...]:
    if not notes:
        return (Made(EVER, place.insulation, place.vents),)
    first = notes[0][1]
    found = [Made(EVER, first["was_insulation"], first["was_vents"])]
    for at, one in notes:
        if one["since"] == ALWAYS:
            found, at = [], EVER
        found.append(Made(at, one["insulation"], one["vents"]))
    return tuple(found)


def _then(known: tuple[Made, ...], told: Make, now: dt.datetime) -> tuple[Made, ...]:
    """What is known of a place once this is told as well."""
    if told.since == ALWAYS:
        return (Made(EVER, told.insulation, told.vents),)
    last = known[-1]
    same = (last.insulation, last.vents) == (told.insulation, told.vents)
    return known if same else (*known, Made(now, told.insulation, told.vents))
