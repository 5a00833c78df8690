"""On which day a member's batch is full, would pass on to curing, and is ready: the chamber rules on daily values.

Arrays are (days, ...); an answer is a day from 1, or days + 1 for "not within them".
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bins.process.model.maturity import DONE
from bins.process.site import SiteSettings

Days = NDArray[np.int64]
NOT_DRY = 0.44  # below this a squeeze is dusty (LSU AgCenter): a dry drum stops and only looks done


@dataclass(frozen=True, slots=True)
class Daily:
    """Values at the end of each day, and counts as they stand before the first of them.

    `closed`: filling has ended. `counted`: days above 10 °C that the present stage already has. `is_curing`: curing had
    begun before the first day.
    """

    temperature_c: Any
    air_c: Any
    moisture: Any
    respiration: Any
    closed: Any
    counted: Any
    is_curing: Any


def first_day(happens: Any) -> Days:
    """The first day on which it happens: 1 for the first row, rows + 1 for never."""
    rows = happens.shape[0]
    return np.asarray(np.where(happens.any(axis=0), happens.argmax(axis=0), rows) + 1, dtype=np.int64)


def stage_days(daily: Daily, settings: SiteSettings) -> tuple[Days, Days]:
    """Days of curing (0: it has begun) and of being ready. Ready needs the curing days *and* the yardstick."""
    rows = daily.temperature_c.shape[0]
    day = np.arange(1, rows + 1).reshape((rows,) + (1,) * (daily.temperature_c.ndim - 1))
    warm = daily.temperature_c > float(settings.warm_above_c)
    near_air = daily.temperature_c - daily.air_c < float(settings.cool_within_c)
    cool = warm & near_air & daily.closed & (daily.moisture >= NOT_DRY)
    twice = cool.copy()
    twice[0] = False
    twice[1:] &= cool[:-1]  # two temperatures, at least a day apart
    composted = np.cumsum(warm & daily.closed, axis=0) + daily.counted
    waited = daily.closed & (composted >= settings.composting_days) & (daily.moisture >= NOT_DRY)
    curing = np.where(daily.is_curing, 0, first_day(twice | waited)).astype(np.int64)
    cured = np.cumsum(warm & (day > curing), axis=0) + np.where(daily.is_curing, daily.counted, 0)
    done = (daily.respiration <= DONE) & (day >= curing) & daily.closed
    ready = first_day(done & (cured >= settings.curing_days))
    return curing, ready
