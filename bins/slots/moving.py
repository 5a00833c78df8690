"""What closed days, a shut hatch or another drum mean for those who are booked; and telling them, once."""

import datetime as dt
from typing import Any

from bins.models import Assignment, Batch, Drum
from bins.process.stage import Stage
from bins.slots.ahead import WhatIsOut, days_of
from bins.slots.booking import changed, first_free, remind_of, take_out
from households import reminders
from households.models import Booking, Building, Reminder, Site
from households.models.booking import STANDS

AHEAD = dt.timedelta(days=7)  # chosen: what is full today may well be open in a fortnight


def settle_slots(building: Building, now: dt.datetime) -> None:
    """Bring the bookings ahead into line with what is open and closed now. Doing so again changes nothing.

    An occurrence that is taken out (closed days, winter, the slot has ended) cancels its bookings. A household
    whose drum changed moves along. While its drum takes nothing, its bookings of the next seven days are off, with
    the way out; they keep their place, and stand again once a hatch is open. Each change is told once, by day; news
    that turns round before it was sent is taken back. Call with the building locked.
    """
    rows = list(
        Booking.objects.within(building)
        .filter(STANDS, begins_at__gt=now)
        .select_related("slot__site__rules", "household")
        .order_by("begins_at", "pk")
    )
    if not rows:
        return
    out = WhatIsOut.gather(building)
    open_drums = _open_drums(building)
    own = {
        one.household_id: one.drum
        for one in Assignment.objects.within(building)
        .filter(household__in={row.household_id for row in rows})
        .select_related("drum")
    }
    for row in rows:
        if cause := _taken_out(building, row, out):
            take_out(building, row, cause[0], now)
            _tell(building, row, Reminder.Kind.GONE, now, cause=cause[0], words=cause[1], place=row.slot.site.name)
            continue
        drum = own.get(row.household_id)
        if drum is not None and drum.site_id == row.slot.site_id and drum.number != row.lane:
            _to_lane(building, row, drum, now)
        is_open = (row.slot.site_id, row.lane) in open_drums and not out.is_paused(row.slot, row.occurs_on)
        if not is_open and row.state == Booking.State.KEPT and row.begins_at <= now + AHEAD:
            _switch(building, row, Booking.State.OFF, now)
        elif is_open and row.state == Booking.State.OFF:
            _switch(building, row, Booking.State.KEPT, now)


def _open_drums(building: Building) -> set[tuple[int, int]]:
    filling = Batch.objects.within(building).filter(
        stage=Stage.FILLING, place__is_quarantined=False, drum__state=Drum.State.IN_SERVICE
    )
    return set(filling.values_list("drum__site", "drum__number"))


def _taken_out(building: Building, row: Booking, out: WhatIsOut) -> tuple[str, str] | None:
    """The cause and its words, where the occurrence no longer takes place."""
    if row.slot.site.opening != Site.Opening.SLOTS or row.occurs_on not in days_of(
        row.slot, row.occurs_on, row.occurs_on, building
    ):
        return Booking.Cause.SLOT, ""
    why, words = out.why(row.slot, row.occurs_on)
    return (why, words) if why else None


def _to_lane(building: Building, row: Booking, drum: Drum, now: dt.datetime) -> None:
    """To the household's other drum, at its first free place: a promise counts even where that is past its room."""
    there = Booking.objects.within(building).filter(STANDS, slot=row.slot, occurs_on=row.occurs_on, lane=drum.number)
    row.lane, row.place = drum.number, first_free(set(there.values_list("place", flat=True)))
    changed(row, now, "lane", "place")
    _tell(building, row, Reminder.Kind.MOVED, now, drum=drum.number)
    reminders.withdraw(building, row.uid, Reminder.Kind.SLOT)
    remind_of(building, row, row.household, now)


def _switch(building: Building, row: Booking, state: str, now: dt.datetime) -> None:
    row.state = state
    changed(row, now, "state")
    goes_off = state == Booking.State.OFF
    news, before = Reminder.Kind.OFF, Reminder.Kind.AGAIN
    if not goes_off:
        news, before = before, news
    if not reminders.withdraw(building, row.uid, before):
        _tell(building, row, news, now, fallback=row.slot.site.fallback)
    reminders.withdraw(building, row.uid, Reminder.Kind.SLOT)
    if not goes_off:
        remind_of(building, row, row.household, now)


def move_to(building: Building, row: Booking, begins_at: dt.datetime, ends_at: dt.datetime, now: dt.datetime) -> None:
    """To another hour of the same day: the slot's time was changed. Call with the building locked."""
    was = row.begins_at
    row.begins_at, row.ends_at = begins_at, ends_at
    changed(row, now, "begins_at", "ends_at")
    _tell(building, row, Reminder.Kind.MOVED, now, was=was.isoformat())
    reminders.withdraw(building, row.uid, Reminder.Kind.SLOT)
    remind_of(building, row, row.household, now)


def _tell(building: Building, row: Booking, kind: str, now: dt.datetime, **figures: Any) -> None:
    reminders.remind(
        building, row.household, kind, about=row.uid, version=row.sequence, begins_at=row.begins_at, due_at=now,
        figures=figures,
    )  # fmt: skip
