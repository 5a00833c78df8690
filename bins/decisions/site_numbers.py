"""Setting the numbers of a site's chamber rules, its winter, and the usual air beside its drums."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.decisions.gather import day_of_year
from bins.models import SiteRules
from bins.records import Reader
from households.ledger import open_ledger
from households.models import Audit, Building, Person, Site

# Least and most of each number; the defaults and where they come from stand with the rules themselves.
RANGES = {
    "close_mark_percent": (50, 100),
    "longest_fill_days": (14, 365),
    "composting_days": (14, 365),
    "curing_days": (7, 365),
    "turn_open_days": (1, 30),
    "turn_resting_days": (1, 60),
}


MONTHS = tuple(f"air_{month}" for month in range(1, 13))
COLDEST_TENTHS_C, WARMEST_TENTHS_C = -400, 450  # of a month's mean where people live


@dataclass(frozen=True)
class SiteNumbers:
    """The numbers by name, the winter as two days of the year or two empty texts, and the air by month or None."""

    numbers: tuple[tuple[str, int], ...]
    winter_first: str
    spring_first: str
    air_tenths_c: tuple[int, ...] | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. A number that isn't told takes its default; winter days are MM-DD.

        The air: `air_1` to `air_12` or a list `air_c` (outdoors), or `room` (indoors); temperature_unit: c (default)
        or f.
        """
        reader = Reader(raw)
        numbers = []
        defaults = SiteRules()
        for name, (least, most) in RANGES.items():
            default: int = getattr(defaults, name)
            numbers.append((name, reader.whole(name, least, most, default) or default))
        days = {name: reader.words(name, 5, "") for name in ("winter_first", "spring_first")}
        for name, text in days.items():
            if text and not _returns(text):
                reader.errors[name] = _("A day such as 11-15 is needed: month, then day.")
        if bool(days["winter_first"]) != bool(days["spring_first"]) and not reader.errors:
            reader.errors["spring_first"] = _("Winter has a first day and a day when it is over, or neither.")
        air = _air_of(reader)
        reader.finish()
        return cls(tuple(numbers), **days, air_tenths_c=air)


def set_numbers(
    *, building: Building, site_uid: UUID, told: SiteNumbers, person: Person | None, now: dt.datetime
) -> SiteRules:
    """Set them; the next night goes by them. Raises Site.DoesNotExist for a site of another building."""
    values = {
        **dict(told.numbers),
        "winter_first": told.winter_first,
        "spring_first": told.spring_first,
        "air_tenths_c": told.air_tenths_c,
    }
    with open_ledger(building):
        site = Site.objects.within(building).get(uid=site_uid)
        rules, _made = SiteRules.objects.update_or_create(building=building, site=site, defaults=values)
        Audit.note(building, person, "site-rules-set", now, site=str(site.uid), **values)
    return rules


def _air_of(reader: Reader) -> tuple[int, ...] | None:
    unit = reader.choice("temperature_unit", ["c", "f"], "c")
    listed = reader.raw.get("air_c")
    months = dict(zip(MONTHS, listed, strict=False)) if isinstance(listed, list) else reader.raw
    if isinstance(listed, list) and len(listed) != len(MONTHS):
        reader.errors["air_c"] = _("Twelve months are needed, or none.")
        return None
    inner = Reader({name: months.get(name) for name in MONTHS} | {"room": reader.raw.get("room")})
    room = _mean(inner, "room", unit)
    found = [_mean(inner, name, unit) for name in MONTHS]
    reader.errors |= inner.errors
    if room is not None:
        return (room,) * len(MONTHS)
    told = [tenths for tenths in found if tenths is not None]
    if told and len(told) < len(MONTHS):
        for name, tenths in zip(MONTHS, found, strict=True):
            if tenths is None:
                reader.errors.setdefault(name, _("Twelve months are needed, or none."))
                break
        return None
    return tuple(told) or None


def _mean(reader: Reader, name: str, unit: str) -> int | None:
    """Tenths of a degree Celsius from a number in either unit."""
    if unit == "c":
        return reader.tenths(name, COLDEST_TENTHS_C, WARMEST_TENTHS_C)
    tenths_f = reader.tenths(name, -400, 1130)  # the same range: -40 to 113 °F
    return None if tenths_f is None else round((tenths_f - 320) * 5 / 9)


def _returns(text: str) -> bool:
    if len(text) != 5 or text[2] != "-":
        return False
    try:
        day_of_year(text)
    except ValueError:
        return False
    return True
