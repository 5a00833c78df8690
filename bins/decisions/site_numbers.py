"""Setting the numbers of a site's chamber rules, and its winter."""

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


@dataclass(frozen=True)
class SiteNumbers:
    """The numbers by name, and the winter as two days of the year or two empty texts."""

    numbers: tuple[tuple[str, int], ...]
    winter_first: str
    spring_first: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. A number that isn't told takes its default; winter days are MM-DD."""
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
        reader.finish()
        return cls(tuple(numbers), **days)


def set_numbers(
    *, building: Building, site_uid: UUID, told: SiteNumbers, person: Person | None, now: dt.datetime
) -> SiteRules:
    """Set them; the next night goes by them. Raises Site.DoesNotExist for a site of another building."""
    values = dict(told.numbers) | {"winter_first": told.winter_first, "spring_first": told.spring_first}
    with open_ledger(building):
        site = Site.objects.within(building).get(uid=site_uid)
        rules, _made = SiteRules.objects.update_or_create(building=building, site=site, defaults=values)
        Audit.note(building, person, "site-rules-set", now, site=str(site.uid), **values)
    return rules


def _returns(text: str) -> bool:
    if len(text) != 5 or text[2] != "-":
        return False
    try:
        day_of_year(text)
    except ValueError:
        return False
    return True
