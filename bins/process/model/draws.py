"""The table of draws as numbers: who is member 17, and what the future has in store for it. No random number
anywhere."""

from functools import cache

import numpy as np

from bins.process.model import quantiles
from bins.process.model.make_quantiles import SCALE
from bins.process.model.rates import Floats

INFLOW, PACE, AIR = range(3)  # columns of `ahead`


@cache
def behind() -> Floats:
    """512 members by 12 parameters, standard normal, read only."""
    return _table(quantiles.BEHIND, quantiles.BEHIND_COLUMNS)


@cache
def ahead() -> Floats:
    """64 futures by 3: what comes in, how far the model's pace is off, the air. Standard normal, read only."""
    return _table(quantiles.AHEAD, quantiles.AHEAD_COLUMNS)


def _table(text: str, columns: int) -> Floats:
    table = np.frombuffer(bytes.fromhex(text), dtype=">i2").reshape(-1, columns).astype(np.float64) / SCALE
    table.flags.writeable = False
    return table
