"""The duties' night: lets go of what is over, and looks whether somebody is there. Promised only while needed."""

import datetime as dt

from households.models import Building, Duty, Job, Lead

NAME = "duties"
AT = dt.time(3, 45)  # chosen: after the night and the tidying


def promise(building: Building, day: dt.date) -> None:
    """Promise the night of a day once. Call in the transaction that makes it needed."""
    Job.plan(building, NAME, day.isoformat(), building.instant(day, AT))


def promise_next(building: Building, day: dt.date) -> None:
    """Promise the night after `day` while duties stand that are neither done nor over, or somebody leads a site."""
    undone = Duty.objects.within(building).filter(done_at__isnull=True, lapsed_at__isnull=True)
    if undone.exists() or Lead.objects.within(building).exists():
        promise(building, day + dt.timedelta(days=1))
