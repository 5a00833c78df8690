"""Which nights of the invented block look ahead: one a week.

A forecast takes a second or more, so 550 of them would take a quarter of an hour, and the test that lives the last 30
days again would wait for each of its own. What is kept of older nights is one a week all the same.
"""

import datetime as dt

from bins.forecasts.night import NAME as FORECAST
from households.models import Building, Job

from .block import LAST_DAY, day_of, number_of

EVERY_DAYS = 7


def rest(here: Building, number: int, now: dt.datetime) -> None:
    """Let the coming night's forecast be done before it is promised, but for the last day and each week before."""
    if (number_of(LAST_DAY) - number) % EVERY_DAYS:
        Job.objects.create(
            building=here, scope=str(here.uid), name=FORECAST, key=day_of(number).isoformat(), wake_at=now,
            state=Job.State.DONE, done_at=now,
        )  # fmt: skip
