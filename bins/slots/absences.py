"""A household is away: a plain "cannot" for whoever plans. Its bookings of those days are free for others."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.people import tidy
from bins.records import Reader, Refused
from bins.slots.booking import take_out
from bins.slots.closures import span
from bins.slots.once import stands
from households.ledger import fingerprint, open_ledger
from households.models import Absence, Booking, Building, Household
from households.models.booking import STANDS

KEPT_AFTER = dt.timedelta(days=30)


@dataclass(frozen=True)
class Away:
    """First and last day, both counted. No reason: nobody has to give one."""

    uid: UUID
    first_day: dt.date
    last_day: dt.date

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: first_day, last_day. Raises Refused with every fault named."""
        reader = Reader(raw)
        first, last = span(reader)
        told = cls(reader.uid(), first, last)
        reader.finish()
        return told


@dataclass(frozen=True)
class Noted:
    row: Absence
    is_new: bool
    freed: int  # bookings that were taken back with it


def note_absence(*, building: Building, household: Household, told: Away, now: dt.datetime) -> Noted:
    """Write down that a household is away, once a uid. Raises UidReused, and Refused for days that are over."""
    print_ = fingerprint(asdict(told) | {"household": household.uid})
    with open_ledger(building) as ledger:
        if known := stands(Absence, building, told.uid, print_):
            return Noted(known, is_new=False, freed=0)
        if told.last_day < building.local(now).date():
            raise Refused({"last_day": _("Those days are over.")})
        row: Absence = Absence.objects.create(
            building=ledger.building, household=household, **asdict(told), fingerprint=print_
        )
        bookings = Booking.objects.within(building).filter(
            STANDS, household=household, occurs_on__range=(row.first_day, row.last_day), begins_at__gt=now
        )
        freed = list(bookings.order_by("pk"))
        for booking in freed:
            take_out(ledger.building, booking, Booking.Cause.HOUSEHOLD, now)
        tidy.promise(ledger.building, row.last_day + KEPT_AFTER + dt.timedelta(days=1))
    return Noted(row, is_new=True, freed=len(freed))


def withdraw_absence(*, building: Building, row: Absence) -> None:
    """Take an absence back, ahead or under way. Doing so twice changes nothing."""
    with open_ledger(building):
        Absence.objects.within(building).filter(pk=row.pk).delete()


def absences_of(building: Building, household: Household, on: dt.date) -> list[Absence]:
    """A household's absences that are not over on a day, in order."""
    return list(
        Absence.objects.within(building).filter(household=household, last_day__gte=on).order_by("first_day", "pk")
    )


def forget(building: Building, now: dt.datetime) -> None:
    """Delete absences that ended 30 days ago. Call with the building locked."""
    Absence.objects.within(building).filter(last_day__lt=building.local(now).date() - KEPT_AFTER).delete()
