"""The nightly tidying: what may not be kept longer goes. Named by its local date; promised only when needed."""

import datetime as dt

from households.models import Building, Departure, Job

NAME = "tidy"
AT = dt.time(3, 30)  # chosen: after the night and the sweep of shares, which may end a claim


def as_of(building: Building, day: dt.date) -> dt.datetime:
    return building.instant(day, AT)


def promise(building: Building, day: dt.date) -> None:
    """Promise the tidying of a day once; call inside the transaction that makes it needed."""
    Job.plan(building, NAME, day.isoformat(), as_of(building, day))


def promise_after(building: Building, kept: dt.timedelta, now: dt.datetime) -> None:
    """Promise the first tidying that finds something made now as old as `kept`."""
    promise(building, building.local(now + kept).date() + dt.timedelta(days=1))


def promise_next(building: Building, day: dt.date) -> None:
    """Promise the day after `day` while somebody who moved out is not forgotten yet."""
    if Departure.objects.within(building).filter(forgotten_at__isnull=True).exists():
        promise(building, day + dt.timedelta(days=1))
