"""What is asked before the first pail, in six questions; together they are the block to be founded."""

import datetime as dt
import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, Final, Protocol, Self
from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _

from bins.care.turning import refuse_a_divided_round
from bins.care.visit import LEVELS
from bins.mixing.pails import LEAST_ML as LEAST_PAIL_ML
from bins.mixing.pails import MOST_ML as MOST_PAIL_ML
from bins.mixing.pails import pail_range
from bins.models import Drum, Place
from bins.records import Reader, Refused
from households.models import Building, Site

MOST_DRUMS = 12
LEAST_CHAMBER_L, MOST_CHAMBER_L = 10, 5000
LEAST_CUP_ML, MOST_CUP_ML = 50, 5000
LETTERS = ("A", "B")
# How a chamber is found: nothing in it, taking scraps, closed and working, or nobody knows.
EMPTY, FILLING, CLOSED, UNKNOWN = "empty", "filling", "closed", "unknown"
FOUND = (EMPTY, FILLING, CLOSED, UNKNOWN)


class Answer(Protocol):
    """One of the six: a record read from raw values; Refused names every fault."""

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self: ...


@dataclass(frozen=True)
class About:
    name: str
    time_zone: str
    units: str
    language: str
    second_language: str  # empty for one language

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader, codes = Reader(raw), [code for code, _name in settings.LANGUAGES]
        told = cls(
            name=reader.words("name", 120, _("What is the block called?")),
            time_zone=reader.choice("time_zone", sorted(zoneinfo.available_timezones())),
            units=reader.choice("units", [*Building.Units.values], Building.Units.METRIC),
            language=reader.choice("language", codes, "en"),
            second_language=reader.choice("second_language", codes) if raw.get("second_language") else "",
        )
        if told.second_language and told.second_language == told.language:
            reader.errors["second_language"] = _("That is the first language already. Choose another, or none.")
        reader.finish()
        return told


@dataclass(frozen=True)
class InCharge:
    """Two people, so that the drums never hang on one. The second may join later."""

    person: str
    household: str  # empty for somebody who lives elsewhere
    second_name: str
    second_household: str
    second_email: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        email = reader.words("second_email", 254, "").lower()
        if email:
            try:
                validate_email(email)
            except ValidationError:
                reader.errors["second_email"] = _("That is no e-mail address. Leave it empty if there is none.")
        told = cls(
            person=reader.words("person", 80, _("What is your name?")),
            household=reader.words("household", 60, ""),
            second_name=reader.words("second_name", 80, ""),
            second_household=reader.words("second_household", 60, ""),
            second_email=email,
        )
        if not told.second_name and (told.second_email or told.second_household):
            reader.errors.setdefault("second_name", _("What is the second person's name?"))
        reader.finish()
        return told


@dataclass(frozen=True)
class Yard:
    site: str
    air: str
    drums: int
    chamber_litres: int
    split: str
    first_shape: str  # of hatch A; hatch B has the other
    turns: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """`chamber`, or `water_pails` that filled it and what such a `water_pail` holds; in gallons by `units`."""
        reader = Reader(raw)
        told = cls(
            site=reader.words("site", 120, _("Where do the drums stand?")),
            air=reader.choice("air", [*Site.Air.values], Site.Air.OUTDOORS),
            drums=reader.whole("drums", 1, MOST_DRUMS, 1) or 1,
            chamber_litres=_chamber(reader),
            split=reader.choice("split", [*Drum.Split.values], Drum.Split.ACROSS),
            first_shape=reader.choice("first_shape", [*Place.Shape.values], Place.Shape.CIRCLE),
            turns=reader.choice("turns", [*Drum.Turns.values], Drum.Turns.TOGETHER),
        )
        reader.finish()
        refuse_a_divided_round(told.split, told.turns)
        return told


@dataclass(frozen=True)
class Chamber:
    """How one chamber is found. `level` is a key of LEVELS, or empty."""

    drum: int
    letter: str
    found: str = EMPTY
    since: dt.date | None = None  # open since, or closed since; None: nobody knows
    level: str = ""


@dataclass(frozen=True)
class Contents:
    chambers: tuple[Chamber, ...]

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """`found-1-A`, `since-1-A`, `level-1-A` and so on; what isn't told of is empty."""
        reader = Reader(raw)
        chambers = tuple(
            _found(reader, number, letter)
            for number in range(1, MOST_DRUMS + 1)
            for letter in LETTERS
            if raw.get(f"found-{number}-{letter}")
        )
        for number in range(1, MOST_DRUMS + 1):
            if sum(one.drum == number and one.found == FILLING for one in chambers) > 1:
                reader.errors[f"found-{number}-B"] = _("Only one hatch of a drum is open at a time. Which one is it?")
        reader.finish()
        return cls(chambers)

    def refuse_the_future(self, today: dt.date) -> None:
        """Refused where something has stood open or closed since a day to come."""
        late = {
            f"since-{one.drum}-{one.letter}": _("That day is still to come.")
            for one in self.chambers
            if one.since is not None and one.since > today
        }
        if late:
            raise Refused(late)


@dataclass(frozen=True)
class Measures:
    pail_ml: int
    cup_ml: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """`pail` in litres, `cup_ml` in millilitres (by `units` gallons, ounces); 8 L and 1 L where none is told."""
        reader = Reader(raw)
        pail_ml = reader.millilitres("pail", MOST_PAIL_ML)
        if pail_ml is not None and pail_ml < LEAST_PAIL_ML:
            reader.errors["pail"] = pail_range(reader)
        told = cls(pail_ml=pail_ml or 8000, cup_ml=reader.cup_ml("cup_ml", LEAST_CUP_ML, MOST_CUP_ML, 1000) or 1000)
        reader.finish()
        return told


@dataclass(frozen=True)
class WayOut:
    fallback: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(fallback=reader.words("fallback", 300, _("Where shall scraps go while nothing is open?")))
        reader.finish()
        return told


# In the order in which they are asked.
QUESTIONS: Final[dict[str, type[Answer]]] = {
    "block": About,
    "people": InCharge,
    "drums": Yard,
    "contents": Contents,
    "pail": Measures,
    "full": WayOut,
}


@dataclass(frozen=True)
class Block:
    """A block to be founded: the six answers in one, under the uid that its building will have."""

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
    second_language: str = ""
    second_name: str = ""
    second_household: str = ""
    second_email: str = ""
    first_shape: str = Place.Shape.CIRCLE.value
    turns: str = Drum.Turns.TOGETHER.value
    chambers: tuple[Chamber, ...] = ()
    pail_ml: int = 8000
    cup_ml: int = 1000

    @classmethod
    def from_answers(cls, uid: UUID, answers: Mapping[str, Mapping[str, Any]]) -> Self:
        """Read all six again. KeyError for one that is missing, Refused for one that no longer holds."""
        parts = [question.from_raw(answers[name]) for name, question in QUESTIONS.items()]
        told = {field.name: getattr(part, field.name) for part in parts for field in fields(part)}  # type: ignore[arg-type]
        return cls(uid=uid, **told)

    @property
    def shapes(self) -> tuple[str, str]:
        """The shapes of hatch A and hatch B."""
        circle, square = Place.Shape.CIRCLE.value, Place.Shape.SQUARE.value
        return (circle, square) if self.first_shape == circle else (square, circle)

    def chamber(self, drum: int, letter: str) -> Chamber:
        found = (one for one in self.chambers if (one.drum, one.letter) == (drum, letter))
        return next(found, Chamber(drum, letter))


def _found(reader: Reader, number: int, letter: str) -> Chamber:
    key = f"{number}-{letter}"
    found = reader.choice(f"found-{key}", [*FOUND])
    if found in (EMPTY, UNKNOWN):
        return Chamber(number, letter, found)
    level = reader.choice(f"level-{key}", [*LEVELS]) if reader.raw.get(f"level-{key}") else ""
    return Chamber(number, letter, found, reader.day(f"since-{key}"), level)


def _chamber(reader: Reader) -> int:
    """Litres of a chamber, as told or by the pails of water that filled it."""
    pails = reader.thousandths("water_pails", 1_000_000)
    pail_ml = reader.millilitres("water_pail", MOST_PAIL_ML)
    told = reader.millilitres("chamber", MOST_CHAMBER_L * 1000)
    field, millilitres = "chamber", 100_000 if told is None else told
    if pails is not None:
        field, millilitres = "water_pails", round(pails * (pail_ml or 10_000) / 1000)
    litres = round(millilitres / 1000)
    if not reader.errors and not LEAST_CHAMBER_L <= litres <= MOST_CHAMBER_L:
        reader.errors[field] = reader.in_units(
            _("One half holds from 10 to 5,000 litres. What does this one hold?"),
            _("One half holds from 3 to 1,300 gallons. What does this one hold?"),
        )
    return litres
