"""Closing a month: by the committee, or by itself on the 10th. Until then its figures are provisional."""

import datetime as dt
from dataclasses import dataclass
from uuid import uuid5

from bins.models import MonthClosing
from households.ledger import open_ledger
from households.models import Building, Job, Person

from .calendar import after
from .figures import Figures, month

NAME = "close-month"
DAY = 10  # chosen: late slips are in by then
AT = dt.time(4, 0)  # after the night


class NotOver(Exception):
    """The month has not ended: nothing was closed."""


@dataclass(frozen=True)
class Difference:
    """A figure that was corrected after the month was closed."""

    name: str
    closed: int
    now: int


def close_month(*, building: Building, first_day: dt.date, person: Person | None, now: dt.datetime) -> MonthClosing:
    """Remember the figures as they are. Closing twice gives the first closing. NotOver before the month's end."""
    if building.instant(after(first_day)) > now:
        raise NotOver
    with open_ledger(building):
        known: MonthClosing | None = closing_of(building, first_day)
        if known is not None:
            return known
        return write(building, month(building, first_day), person, now)


def write(building: Building, figures: Figures, person: Person | None, now: dt.datetime) -> MonthClosing:
    """Call with the building locked."""
    closing: MonthClosing = MonthClosing.objects.create(
        building=building,
        uid=uuid5(building.uid, f"month {figures.first_day}"),
        first_day=figures.first_day,
        closed_at=now,
        closed_by=person,
        figures=figures.as_stored(),
    )
    return closing


def closing_of(building: Building, first_day: dt.date) -> MonthClosing | None:
    found: MonthClosing | None = MonthClosing.objects.within(building).filter(first_day=first_day).first()
    return found


def restated(closing: MonthClosing, present: Figures) -> tuple[Difference, ...]:
    """What was corrected since the month was closed."""
    now = present.as_stored()
    return tuple(
        Difference(name, value, now[name]) for name, value in closing.figures.items() if now.get(name) != value
    )


def closes_at(building: Building, first_day: dt.date) -> dt.datetime:
    return building.instant(after(first_day).replace(day=DAY), AT)


def promise(building: Building, first_day: dt.date) -> None:
    """Promise that a month closes by itself."""
    Job.plan(building, NAME, first_day.isoformat(), closes_at(building, first_day))
