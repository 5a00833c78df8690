"""Closed days: works, holidays. They take occurrences out, and who is booked is told."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.db.models import Q
from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from bins.slots.moving import settle_slots
from bins.slots.once import stands
from households.ledger import fingerprint, open_ledger
from households.models import Audit, Building, Closure, Person, Site, TenantQuerySet

LONGEST = dt.timedelta(days=366)
LONGEST_YEARLY = dt.timedelta(days=364)  # one day more, and the last would be the first of the next time


@dataclass(frozen=True)
class ClosedDays:
    """Days on which a site is closed, both ends counted, and what everybody reads about it. `is_yearly`: they return
    each year."""

    uid: UUID
    first_day: dt.date
    last_day: dt.date
    words: str
    is_yearly: bool

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: first_day, last_day (the first where not told), words (200 characters), each_year.

        Raises Refused with every fault named.
        """
        reader = Reader(raw)
        first, last = span(reader)
        is_yearly = reader.yes("each_year")
        if is_yearly and last - first > LONGEST_YEARLY:
            reader.errors.setdefault("last_day", _("Days that return each year are less than a year."))
        words = reader.words("words", 200, _("Why is it closed? Everybody reads this."))
        told = cls(reader.uid(), first, last, words, is_yearly)
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
        if told.last_day < building.local(now).date() and not told.is_yearly:
            raise Refused({"last_day": _("Those days are over.")})
        closure: Closure = Closure.objects.create(
            building=ledger.building, site=site, **asdict(told), fingerprint=print_
        )
        settle_slots(ledger.building, now)
        Audit.note(ledger.building, person, "days-closed", now, closure=str(closure.uid))
    return closure


def closures_ahead(building: Building, today: dt.date) -> TenantQuerySet:
    """Closed days that are not over, and those that return, with their site."""
    rows = Closure.objects.within(building).filter(Q(last_day__gte=today) | Q(is_yearly=True))
    return rows.select_related("site").order_by("first_day", "pk")


def open_days(*, building: Building, closure: Closure, person: Person | None, now: dt.datetime) -> None:
    """Take closed days back, with all that would return. What was cancelled stays so: whoever wants to come books
    again."""
    with open_ledger(building) as ledger:
        gone, _each = Closure.objects.within(building).filter(pk=closure.pk).delete()
        if gone:
            Audit.note(ledger.building, person, "closed-days-withdrawn", now, closure=str(closure.uid))
