"""Promising to tell a household something, once: a row that is due, and the job that looks at what is due then.

A household hears once a day: the first thing due takes along all that would be due later that day.
"""

import datetime as dt
from typing import Any
from uuid import UUID, uuid5

from .models import Building, Household, Job, Reminder
from .quiet import due_by_day

NAME = "remind"
DAY_BEFORE_AT = dt.time(17, 0)  # chosen: home from work, and still time to say that one can't come
FORGOTTEN_AFTER = dt.timedelta(days=30)


def the_day_before(building: Building, begins_at: dt.datetime) -> dt.datetime:
    """When somebody is reminded of what begins then: at 17:00 of the local day before."""
    return building.instant(building.local(begins_at).date() - dt.timedelta(days=1), DAY_BEFORE_AT)


def remind(
    building: Building, household: Household, kind: str, *, about: UUID, version: int = 0, begins_at: dt.datetime,
    due_at: dt.datetime, figures: dict[str, Any] | None = None,
) -> None:  # fmt: skip
    """Promise once to tell a household of something, by day; the same again changes nothing.

    Call inside the transaction that causes it, with the building locked.
    """
    due_at = due_by_day(building, due_at)
    Reminder.objects.get_or_create(
        building=building,
        household=household,
        kind=kind,
        about=about,
        version=version,
        defaults={
            "uid": uuid5(about, f"reminder {kind} {version} {household.uid}"),
            "begins_at": begins_at,
            "due_at": due_at,
            "figures": figures or {},
        },
    )
    look_at(building, due_at)


def withdraw(building: Building, about: UUID, *kinds: str) -> int:
    """Take back what was not sent yet, of these kinds or of all; how many rows it was."""
    rows = Reminder.objects.within(building).filter(about=about, sent_at__isnull=True)
    count, _each = (rows.filter(kind__in=kinds) if kinds else rows).delete()
    return count


def look_at(building: Building, due_at: dt.datetime) -> None:
    """Promise the job that sends what is due at an instant."""
    Job.plan(building, NAME, due_at.astimezone(dt.UTC).isoformat(timespec="seconds"), due_at)
