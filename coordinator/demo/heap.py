"""What a person would see and feel at a drum: a small stand-in for the heap, stated here and nowhere trusted.

Scraps and browns sink to two fifths of their volume within four weeks, evenly. A lot is warm while it works and
cools off slowly; in drum 3, which gets the least at a time, faster. The squeeze is right and it smells good.
None of these numbers is from a source: all are chosen, so that the rules have something to look at.
"""

import datetime as dt

from bins.care.visit import LEVELS
from bins.models import Amendment, Batch, Contribution

SINKS_IN_DAYS = 28
SINKS_TO = 0.4
HOTTEST_TENTHS = 320  # above the air, on the day it is shut
COOLS_A_DAY = {1: 4, 2: 4, 3: 7}  # tenths of a degree, by drum
LEAST_TENTHS = {1: 80, 2: 80, 3: 30}  # above the air while it works


def volume_ml(batch: Batch, now: dt.datetime) -> int:
    """What is in a lot by now, sunk."""
    rows = Contribution.objects.within(batch.building).filter(batch=batch, counts_at__lte=now)
    added = Amendment.objects.within(batch.building).filter(batch=batch, counts_at__lte=now)
    parts = [*rows.values_list("counts_at", "scraps_ml", "browns_ml")]
    parts += [(when, ml, 0) for when, ml in added.values_list("counts_at", "millilitres")]
    total = 0.0
    for when, scraps_ml, browns_ml in parts:
        days = min((now - when).days, SINKS_IN_DAYS)
        total += (scraps_ml + browns_ml) * (1 - (1 - SINKS_TO) * days / SINKS_IN_DAYS)
    return round(total)


def level(batch: Batch, litres: int, now: dt.datetime) -> str:
    """The level of the open hatch, to the quarter that it has reached."""
    percent = volume_ml(batch, now) / (litres * 10)
    return max((name for name in LEVELS if LEVELS[name] <= percent), key=LEVELS.__getitem__)


def above_air_tenths_c(batch: Batch, drum: int, now: dt.datetime) -> int:
    """How much warmer than the air a closed lot is."""
    if batch.closed_at is None:
        return HOTTEST_TENTHS
    return max(LEAST_TENTHS[drum], HOTTEST_TENTHS - COOLS_A_DAY[drum] * (now - batch.closed_at).days)
