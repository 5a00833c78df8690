"""Counting days in which the batch could work: those above 10 °C. A cold drum is not a finished drum.

A day is 24 hours from the start of the count and counts when it is over. What decides it is the last drum
temperature of the seven days up to its end; without one, the site's mean air of that month.

    day of a batch closed on 1 February, outdoors     decided by            counts
    1 (no reading)                                    February mean 2 °C    no
    5 (drum read 31 °C on day 4)                      31 °C                 yes
    11 (that reading is 7 days old)                   February mean 2 °C    no
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from bins.process.reading import TemperatureReading
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot

READING_HOLDS_DAYS = 7  # chosen: a reading speaks for its week
LOOK_AHEAD_DAYS = 730  # chosen: past two years the answer "never" is good enough


@dataclass(frozen=True, slots=True)
class DayCount:
    """Whole days since the start: all of them, those that counted, and those of them decided by a reading."""

    elapsed_days: int
    counted_days: int
    read_days: int


def count_warm_days(batch: BatchSnapshot, since: datetime, settings: SiteSettings, now: datetime) -> DayCount:
    """Count the completed days from `since` to `now` that were above `settings.warm_above_c` (exactly at it
    doesn't count). A `since` in the future gives noughts."""
    elapsed = max(0, (now - since) // timedelta(days=1))
    counted = read = 0
    for day in range(elapsed):
        end = since + timedelta(days=day + 1)
        reading = _deciding_reading(batch, end)
        air_c = settings.air_c_by_month[end.month - 1]
        if (reading.drum_c if reading else air_c) > settings.warm_above_c:
            counted += 1
            read += reading is not None
    return DayCount(elapsed_days=elapsed, counted_days=counted, read_days=read)


def days_until_counted(needed: int, settings: SiteSettings, now: datetime) -> int | None:
    """Days from `now` until `needed` more days have counted by the site's mean air, None if not in 2 years.

    An expectation, for warnings only: a warm drum in a cold month beats it.
    """
    if needed <= 0:
        return 0
    for ahead in range(1, LOOK_AHEAD_DAYS + 1):
        month = (now + timedelta(days=ahead)).month
        needed -= settings.air_c_by_month[month - 1] > settings.warm_above_c
        if needed == 0:
            return ahead
    return None


def _deciding_reading(batch: BatchSnapshot, end: datetime) -> TemperatureReading | None:
    start = end - timedelta(days=READING_HOLDS_DAYS)
    return next((t for t in reversed(batch.temperatures) if start < t.at <= end), None)
