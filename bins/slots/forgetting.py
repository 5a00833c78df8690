"""What nobody may keep: who came when, who was away, what was said. A part of the nightly tidying."""

import datetime as dt

from bins.slots import absences, booking
from households.models import Booking, Building, DutyEntry, Reminder
from households.models.booking import STANDS
from households.reminders import FORGOTTEN_AFTER


def forget(building: Building, now: dt.datetime) -> None:
    """Delete bookings, absences and reminders whose days are over. Call with the building locked."""
    absences.forget(building, now)
    over = building.local(now).date() - booking.KEPT_AFTER
    Booking.objects.within(building).filter(occurs_on__lt=over).delete()
    DutyEntry.objects.within(building).filter(duty__day__lt=over).delete()
    Reminder.objects.within(building).filter(begins_at__lt=now - FORGOTTEN_AFTER).delete()


def cancel_after(building: Building, household_pk: int, last_day: dt.date, now: dt.datetime) -> None:
    """A household moves out: what it was down for after its last day is free. Call with the building locked."""
    rows = Booking.objects.within(building).filter(
        STANDS, household=household_pk, occurs_on__gt=last_day, begins_at__gt=now
    )
    for row in rows.order_by("pk"):
        booking.take_out(building, row, Booking.Cause.HOUSEHOLD, now)
