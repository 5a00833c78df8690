"""How probable it is that the open hatch is full before another place is empty: every member of one batch against every
member of the others, since nothing ties their luck together but the weather.
"""

from collections.abc import Sequence

import numpy as np

from bins.process.model.forecast import dates
from bins.process.model.milestones import Days
from bins.process.model.results import Clash, Forecast, in_order

PICK_UP_DAYS = 7  # chosen: from ready to taken out; the bag test takes as long


def clash(filling: Forecast, others: Sequence[Forecast], free_places: int = 0, has_bin: bool = False) -> Clash:
    """`others`: the batches in the drum's other chambers. `free_places`: places already empty. `has_bin`: a curing
    bin is free, so a chamber is empty as soon as its batch passes on to curing.

    ValueError unless all were made on the same day for the same horizon, and the first batch fills.
    """
    if any((one.made_on, one.horizon_days) != (filling.made_on, filling.horizon_days) for one in others):
        raise ValueError("forecasts of different days can't be held against each other")
    if max(filling.full_days) == 0:
        raise ValueError("a closed batch clashes with nothing")
    never = filling.horizon_days + 1
    full: Days = np.asarray(filling.full_days)
    empty: Days = np.full(1, never)
    if free_places > 0:
        empty = np.zeros(1, dtype=np.int64)
    else:
        for one in others:
            days = one.curing_days if has_bin else [day + PICK_UP_DAYS for day in one.ready_days]
            empty = np.minimum(empty[:, None], np.minimum(days, never)[None, :]).reshape(-1)
            empty = _thinned(np.sort(empty))
    meets = full[:, None] < empty[None, :]
    short = (empty[None, :] - full[:, None])[meets]
    return Clash(
        probability=round(float(meets.mean()), 4),
        full=dates(filling.made_on, full, filling.horizon_days),
        empty=dates(filling.made_on, empty, filling.horizon_days),
        days_short=None if not short.size else in_order([float(np.percentile(short, p)) for p in (10, 50, 90)]),
    )


def _thinned(days: Days) -> Days:
    # 64 x 64 sorted pairs, every 64th from the middle of the first: else three chambers would be a quarter of a million
    return days if len(days) <= 64 else days[len(days) // 128 :: len(days) // 64]
