"""Closed days: works, holidays. They take occurrences out, and who is booked is told."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from bins.slots.moving import settle_slots
from bins.slots.once import stands
from households.ledger import fingerprint, open_ledger
from households.models import Audit, Building, Closure, Person, Site

LONGEST = dt.timedelta(days=366)


@dataclass(frozen=True)
class ClosedDays:
    """Days on which a site is closed, both ends counted, and what everybody reads about it."""

    uid: UUID
    first_day: dt.date
    last_day: dt.date
    words: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: first_day, last_day (the first where not told), words (200 characters).

        Raises Refused with every fault named.
        """
        reader = Reader(raw)
        first, last = span(reader)
        told = cls(reader.uid(), first, last, reader.words("words", 200, _("Why is it closed? Everybody reads this.")))
        reader.finish()
        return told


def span(reader: Reader) -> tuple[dt.date, dt.date]:
    """Two days out of a record, the first no later than the last, a year apart at most."""
    first = reader.day("first_day")
    if first is None:
        reader.errors.setdefault("first_day", _("Which is the first day?"))
    last = reader.day("last_day") or first
    if first and last and not first <= last <= first + LONGEST:
        reader.errors.setdefault("last_day", _("The last day comes after the first, within a year."))
    return first or dt.date.min, last or dt.date.min


def close_days(
    *, building: Building, site: Site, told: ClosedDays, person: Person | None, now: dt.datetime
) -> Closure:  # fmt: skip
    """Close a site for some days, once a uid. Raises UidReused, and Refused for days that are over."""
    print_ = fingerprint(asdict(told) | {"site": site.uid})
    with open_ledger(building) as ledger:
        if known := stands(Closure, building, told.uid, print_):
            return known
        if told.last_day < building.local(now).date():
            raise Refused({"last_day": _("Those days are over.")})
        closure: Closure = Closure.objects.create(
            building=ledger.building, site=site, **asdict(told), fingerprint=print_
        )
        settle_slots(ledger.building, now)
        Audit.note(ledger.building, person, "days-closed", now, closure=str(closure.uid))
    return closure


def open_days(*, building: Building, closure: Closure, person: Person | None, now: dt.datetime) -> None:
    """Take closed days back. What was cancelled stays cancelled: whoever wants to come books again."""
    with open_ledger(building) as ledger:
        gone, _each = Closure.objects.within(building).filter(pk=closure.pk).delete()
        if gone:
            Audit.note(ledger.building, person, "closed-days-withdrawn", now, closure=str(closure.uid))
