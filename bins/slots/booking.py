"""A household says when it comes. A promise of room, not a permission: a drop-off at another time counts alike."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.models import Assignment
from bins.people import tidy
from bins.records import Reader, Refused
from bins.slots.ahead import BOOK_AHEAD_DAYS, Lane, Occurrence, occurrences
from bins.slots.once import stands
from households import reminders
from households.ledger import fingerprint, open_ledger
from households.models import Booking, Building, Household, Reminder, Slot
from households.models.booking import STANDS

MOST_QUARTER_PAILS = 16  # chosen: four pails is what one household carries down at one time
KEPT_AFTER = dt.timedelta(days=30)  # chosen: calendars have heard of it by then, and nobody counts who came


@dataclass(frozen=True)
class Booked:
    row: Booking
    is_new: bool


@dataclass(frozen=True)
class WantsSlot:
    """A household wants a place at one occurrence."""

    uid: UUID
    slot_uid: UUID
    day: dt.date
    quarter_pails: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: slot (uid), day, quarter_pails (1 to 16, one pail where not told).

        Raises Refused with every fault named.
        """
        reader = Reader(raw)
        day = reader.day("day")
        if day is None:
            reader.errors.setdefault("day", _("On which day?"))
        told = cls(
            uid=reader.uid(),
            slot_uid=reader.uid("slot"),
            day=day or dt.date.min,
            quarter_pails=reader.whole("quarter_pails", 1, MOST_QUARTER_PAILS, 4) or 4,
        )
        reader.finish()
        return told


def book(
    *, building: Building, told: WantsSlot, household: Household, now: dt.datetime, by_proxy: bool = False
) -> Booked:
    """Give a household the first free place at an occurrence; the same uid and values give the stored answer.

    `by_proxy`: whoever looks after the place does it on the household's behalf.
    Of any number who want the last place one gets it. Raises UidReused, and Refused where there is no such time
    ahead, the household is down for it already, its drum takes nothing, or no place is left.
    """
    print_ = fingerprint(asdict(told) | {"household": household.uid})
    with open_ledger(building) as ledger:
        if known := stands(Booking, building, told.uid, print_):
            return Booked(known, is_new=False)
        found = _occurrence(ledger.building, told, now)
        lane = _lane(ledger.building, household, found, told.quarter_pails)
        of_occurrence = Booking.objects.within(building).filter(STANDS, slot=found.slot, occurs_on=found.day)
        if of_occurrence.filter(household=household).exists():
            raise Refused({"slot": _("You are down for that time already.")})
        taken = set(of_occurrence.filter(lane=lane.number).values_list("place", flat=True))
        row = Booking.objects.create(
            building=ledger.building,
            uid=told.uid,
            slot=found.slot,
            household=household,
            occurs_on=found.day,
            begins_at=found.begins_at,
            ends_at=found.ends_at,
            lane=lane.number,
            place=first_free(taken),
            quarter_pails=told.quarter_pails,
            by_proxy=by_proxy,
            changed_at=now,
            fingerprint=print_,
        )
        remind_of(ledger.building, row, household, now)
        tidy.promise(ledger.building, row.occurs_on + KEPT_AFTER + dt.timedelta(days=1))
    return Booked(row, is_new=True)


def cancel(*, building: Building, row: Booking, now: dt.datetime) -> Booking:
    """A household does not come. The place is free again; doing so twice gives the same answer.

    Raises Refused once the time has begun.
    """
    with open_ledger(building):
        found: Booking = Booking.objects.within(building).get(pk=row.pk)
        if found.state != Booking.State.CANCELLED:
            if found.begins_at <= now:
                raise Refused({"uid": _("That time has begun. There is nothing to take back.")})
            take_out(building, found, Booking.Cause.HOUSEHOLD, now)
    return found


def of_household(building: Building, household: Household, now: dt.datetime) -> list[Booking]:
    """What a household is down for from now on, in order of time; with slot and site. One query."""
    return list(
        Booking.objects.within(building)
        .filter(STANDS, household=household, ends_at__gt=now)
        .select_related("slot__site")
        .order_by("begins_at", "pk")
    )


# Parts for those who move bookings; each is called with the building locked ---------------------------


def take_out(building: Building, row: Booking, cause: str, now: dt.datetime) -> None:
    """Cancel a booking for a cause, and withdraw what was still to be said of it."""
    row.state, row.cause = Booking.State.CANCELLED, cause
    changed(row, now, "state", "cause")
    reminders.withdraw(building, row.uid)


def changed(row: Booking, now: dt.datetime, *fields: str) -> None:
    """Save what changed, under the next number for calendars."""
    row.sequence, row.changed_at = row.sequence + 1, now
    row.save(update_fields=[*fields, "sequence", "changed_at"])


def remind_of(building: Building, row: Booking, household: Household, now: dt.datetime) -> None:
    """Promise a word on the day before, unless that has begun: who books for today knows."""
    due_at = reminders.the_day_before(building, row.begins_at)
    if due_at > now:
        reminders.remind(
            building, household, Reminder.Kind.SLOT, about=row.uid, version=row.sequence, begins_at=row.begins_at,
            due_at=due_at,
        )  # fmt: skip


def first_free(taken: set[int]) -> int:
    return next(place for place in range(1, len(taken) + 2) if place not in taken)


def _occurrence(building: Building, told: WantsSlot, now: dt.datetime) -> Occurrence:
    slot: Slot | None = Slot.objects.within(building).filter(uid=told.slot_uid).select_related("site").first()
    today = building.local(now).date()
    found = None
    if slot is not None and today <= told.day <= today + dt.timedelta(days=BOOK_AHEAD_DAYS):
        ahead = occurrences(building, told.day, told.day, now, site=slot.site)
        found = next((one for one in ahead if one.slot.pk == slot.pk), None)
    if found is None:
        raise Refused({"slot": _("That time is not on the list of the next weeks. Look at the list again.")})
    if found.out:
        raise Refused({"slot": _("The place is closed at that time. Choose another one.")})
    return found


def _lane(building: Building, household: Household, found: Occurrence, quarter_pails: int) -> Lane:
    """The lane of the household's own drum, with a place free. Refused otherwise."""
    own = Assignment.objects.within(building).filter(household=household).select_related("drum").first()
    lane = found.lane(own.drum.number) if own and own.drum.site_id == found.slot.site_id else None
    if lane is None:
        raise Refused({"slot": _("Your drum stands at another place. Choose a time there.")})
    if not lane.takes:
        raise Refused({"slot": _("Your drum takes nothing now. We write to you when it is open again.")})
    if not lane.free:
        raise Refused({"slot": _("The last place is gone. Nothing was written down. Choose another time.")})
    if quarter_pails > lane.free_quarters:
        raise Refused({"quarter_pails": _("There is room for fewer pails at that time.")})
    return lane
