"""One row of a log sheet -> what it says, checked. Nothing here knows the building but its clock and its order of
day and month; whether the household or the drum exists is asked later.
"""

import datetime as dt
import json
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, ClassVar, Self

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from bins.sheets.sheet_words import FORMERLY, HATCHES, LEVELS, TROUBLES, is_yes, plain, word_of
from bins.units import G_PER_LB
from households.models import Building

EARLIEST = dt.date(2000, 1, 1)
NOON = dt.time(12, 0)  # chosen: where the sheet tells only the day
MOST_PEOPLE = 12
# The digits of Arabic and Persian writing, and their decimal sign.
DIGITS = {ord(sign): str(i % 10) for i, sign in enumerate("٠١٢٣٤٥٦٧٨٩۰۱۲۳۴۵۶۷۸۹")} | {ord("٫"): "."}
BETWEEN_NAMES = re.compile(r"[/;,+&\n،؛]")


@dataclass(frozen=True)
class HouseholdRow:
    household: str
    people: tuple[str, ...]
    emails: tuple[str, ...]  # of the people in their order; as many at most
    drum: int | None
    joined: dt.date | None

    FIELDS: ClassVar = ("household", "people", "email", "drum", "joined")

    @classmethod
    def from_cells(cls, cells: Mapping[str, str], building: Building, now: dt.datetime) -> Self:
        """Raises Refused with every fault by its field."""
        reader = Reader(cells)
        people = _many(cells.get("people", ""))
        emails = tuple(email.lower() for email in _many(cells.get("email", "")))
        if len(people) > MOST_PEOPLE or any(len(name) > 80 for name in people):
            reader.errors["people"] = _("Up to 12 names fit, each up to 80 characters. Put a / between them.")
        if len(emails) > len(people):
            reader.errors["email"] = _("Each address needs the name of whose it is.")
        for email in emails:
            if not _is_email(email):
                reader.errors["email"] = _("That is no e-mail address. Leave it empty for somebody without one.")
        row = cls(
            household=reader.words("household", 60, _("Which household was it?")),
            people=people,
            emails=emails,
            drum=_drum(cells, reader),
            joined=_day(cells, "joined", building, now, reader),
        )
        reader.finish()
        return row


@dataclass(frozen=True)
class ContributionRow:
    date: dt.date
    time: dt.time | None
    household: str
    drum: int | None
    quarter_pails: int | None
    kilograms: str  # as a plain number, or empty
    cups: str

    FIELDS: ClassVar = ("date", "time", "household", "drum", "pails", "kilograms", "pounds", "weight", "cups")

    @classmethod
    def from_cells(cls, cells: Mapping[str, str], building: Building, now: dt.datetime) -> Self:
        """Raises Refused with every fault by its field. What is told of amounts the drop-off itself checks."""
        reader = Reader(cells)
        pails, cups = (_number(cells, name, reader) for name in ("pails", "cups"))
        kilograms = _kilograms(cells, building, reader)
        quarters = None if pails is None else pails * 4
        if quarters is not None and quarters != int(quarters):
            reader.errors["pails"] = _("Whole pails, halves or quarters are needed.")
        if quarters is None and kilograms is None and not reader.errors:
            reader.errors["pails"] = (
                _("How much was it? Pails or pounds are needed.")
                if building.units == Building.Units.US
                else _("How much was it? Pails or kilograms are needed.")
            )
        row = cls(
            date=_needed_day(cells, building, now, reader),
            time=_time(cells, reader),
            household=reader.words("household", 60, _("Which household was it?")),
            drum=_drum(cells, reader),
            quarter_pails=None if quarters is None else int(quarters),
            kilograms="" if kilograms is None else f"{kilograms:.3f}",
            cups="" if cups is None else f"{cups:g}",
        )
        reader.finish()
        return row


@dataclass(frozen=True)
class VisitRow:
    date: dt.date
    time: dt.time | None
    drum: int | None
    hatch: str  # A, B or empty
    turned: bool
    level: str
    trouble: str

    FIELDS: ClassVar = ("date", "time", "drum", "hatch", "turned", "level", "trouble")

    @classmethod
    def from_cells(cls, cells: Mapping[str, str], building: Building, now: dt.datetime) -> Self:
        """Raises Refused with every fault by its field."""
        reader = Reader(cells)
        turned = is_yes(cells.get("turned", ""))
        if turned is None:
            reader.errors["turned"] = _("Yes or no is needed.")
        row = cls(
            date=_needed_day(cells, building, now, reader),
            time=_time(cells, reader),
            drum=_drum(cells, reader),
            hatch=_code(cells, "hatch", HATCHES, reader, _("The letter of a hatch is needed: A or B.")),
            turned=bool(turned),
            level=_code(
                cells, "level", LEVELS, reader, _("One of these is needed: empty, quarter, half, three quarters, full.")
            ),
            trouble=_code(
                cells, "trouble", TROUBLES, reader,
                _(
                    "One of these is needed: nothing, smell, rotten, ammonia, sour, wet, leaking, dry, cold, too hot, "
                    "lumps, animals, flies, larvae, rats, hard to turn, wrong item, broken."
                ),
            ) or "nothing",
        )  # fmt: skip
        if row.drum is None and "drum" not in reader.errors:
            reader.errors["drum"] = _("The number of the drum is needed.")
        reader.finish()
        return row


AnyRow = HouseholdRow | ContributionRow | VisitRow
ROWS: dict[str, type[HouseholdRow] | type[ContributionRow] | type[VisitRow]] = {
    "households": HouseholdRow,
    "contributions": ContributionRow,
    "visits": VisitRow,
}


def canonical(row: AnyRow) -> str:
    """What a row says, whatever its sheet's order of columns, language, separator or way of writing numbers."""
    said = asdict(row)
    if isinstance(row, VisitRow):
        said["trouble"] = FORMERLY.get(row.trouble, row.trouble)
    return json.dumps(said, sort_keys=True, ensure_ascii=False, default=str)


def when(row: ContributionRow | VisitRow, building: Building, now: dt.datetime) -> dt.datetime:
    """The instant of a row: as told, or noon of its day. Refused for one that has not come yet."""
    at = building.instant(row.date, row.time or NOON)
    if at > now and row.time is not None:
        raise Refused({"time": _("That time has not come yet.")})
    return min(at, now)


def _many(cell: str) -> tuple[str, ...]:
    return tuple(filter(None, (" ".join(part.split()) for part in BETWEEN_NAMES.split(cell))))


def _is_email(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return len(text) <= 254


def _drum(cells: Mapping[str, str], reader: Reader) -> int | None:
    """The number of a drum, alone or behind a word."""
    cell = cells.get("drum", "").translate(DIGITS)
    numbers = re.findall(r"[0-9]+", cell)
    if not plain(cell):
        return None
    if len(numbers) != 1 or not 1 <= len(numbers[0]) <= 3:
        reader.errors["drum"] = _("The number of the drum is needed.")
        return None
    return int(numbers[0])


def _number(cells: Mapping[str, str], name: str, reader: Reader) -> float | None:
    """A number from 0 up with comma or point; None for an empty cell."""
    cell = cells.get(name, "").translate(DIGITS).replace(",", ".")
    if not cell:
        return None
    if not re.fullmatch(r"[0-9]{1,4}(\.[0-9]{1,6})?|\.[0-9]{1,6}", cell):
        reader.errors[name] = _("A number is needed, such as 2.5 or 2,5.")
        return None
    return float(cell)


def _kilograms(cells: Mapping[str, str], building: Building, reader: Reader) -> float | None:
    """The weight, whichever of the three columns it stands in; a plain "weight" is in the building's own unit."""
    us = building.units == Building.Units.US
    factors = {"kilograms": 1.0, "pounds": G_PER_LB / 1000, "weight": G_PER_LB / 1000 if us else 1.0}
    told = {name: number for name in factors if (number := _number(cells, name, reader)) is not None}
    if len(told) > 1:
        reader.errors[[*told][-1]] = _("Give the weight once: in kilograms or in pounds.")
    return next((number * factors[name] for name, number in told.items()), None)


def _needed_day(cells: Mapping[str, str], building: Building, now: dt.datetime, reader: Reader) -> dt.date:
    day = _day(cells, "date", building, now, reader)
    if day is None and "date" not in reader.errors:
        reader.errors["date"] = _("Which day was it?")
    return day or EARLIEST


def _day(cells: Mapping[str, str], name: str, building: Building, now: dt.datetime, reader: Reader) -> dt.date | None:
    """A day as 2026-05-04, 4.5.2026 or with slashes in the building's own order; None for an empty cell."""
    cell = cells.get(name, "").translate(DIGITS)
    if not cell:
        return None
    month_first = building.units == Building.Units.US and "/" in cell
    try:
        if match := re.fullmatch(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})", cell):
            year, month, day = map(int, match.groups())
        elif match := re.fullmatch(r"([0-9]{1,2})([./])([0-9]{1,2})\2([0-9]{4})", cell):
            one, other, year = int(match[1]), int(match[3]), int(match[4])
            month, day = (one, other) if month_first else (other, one)
        else:
            raise ValueError
        found = dt.date(year, month, day)
    except ValueError:
        reader.errors[name] = _("A day is needed, such as 2026-11-25.")
        return None
    if found < EARLIEST:
        reader.errors[name] = _("A day from the year 2000 on is needed.")
    elif found > building.local(now).date():
        reader.errors[name] = _("That day has not come yet.")
    return found


def _time(cells: Mapping[str, str], reader: Reader) -> dt.time | None:
    cell = cells.get("time", "").translate(DIGITS)
    if not cell:
        return None
    match = re.fullmatch(r"([0-9]{1,2})[:.h]([0-9]{2})(?::[0-9]{2})?", cell)
    try:
        if match is None:
            raise ValueError
        return dt.time(int(match[1]), int(match[2]))
    except ValueError:
        reader.errors["time"] = _("A time is needed, such as 18:30.")
        return None


def _code(
    cells: Mapping[str, str], name: str, table: Mapping[str, tuple[str, ...]], reader: Reader, needed: str
) -> str:
    cell = cells.get(name, "").translate(DIGITS)
    code: Any = word_of(table, cell) if cell else ""
    if code is None:
        reader.errors[name] = needed
    return code or ""
