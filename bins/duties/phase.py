"""Where a duty stands on a day: to be done, open to all, on the caretaker's list, over."""

import datetime as dt
from enum import StrEnum

from households.models import Building, Duty, DutyKind

OPEN_DAYS = 1  # chosen: the day after, anybody may do it
LIST_DAYS = 2  # chosen: then whoever looks after the place is asked, and after that it no longer matters


class Phase(StrEnum):
    PLANNED = "planned"
    OPEN = "open"  # not done by the end of its day: anybody may
    LISTED = "listed"  # on the caretaker's list
    DONE = "done"
    OVER = "over"


def phase(duty: Duty, today: dt.date) -> Phase:
    """Of a duty with its kind loaded. An opening can't be made up for: it is never open to all."""
    if duty.done_at is not None:
        return Phase.DONE
    late = (today - duty.day).days
    if duty.lapsed_at is not None or late > OPEN_DAYS + LIST_DAYS:
        return Phase.OVER
    if late <= 0:
        return Phase.PLANNED
    if late <= OPEN_DAYS and duty.kind.work != DutyKind.Work.OPENING:
        return Phase.OPEN
    return Phase.LISTED


def first_day_not_over(today: dt.date) -> dt.date:
    """The earliest day whose duties may still be done."""
    return today - dt.timedelta(days=OPEN_DAYS + LIST_DAYS)


def begins(building: Building, duty: Duty) -> dt.datetime:
    """When a duty begins: its wall time on its day, or the day's first instant. UTC."""
    return building.instant(duty.day, duty.begins_at or dt.time())


def is_past(building: Building, duty: Duty, now: dt.datetime) -> bool:
    """Whether it is too late to hand a duty on: its day is over, or the opening has begun."""
    if duty.begins_at is not None:
        return begins(building, duty) <= now
    return duty.day < building.local(now).date()
