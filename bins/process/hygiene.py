"""How long a batch was hot, by what people wrote down. It says what is recorded, and certifies nothing.

Between two neighbouring readings the lower of both counts, since nobody knows what was between; over a gap of more
than 24 hours nothing counts. Home drums seldom get there, and a reading in the middle says nothing of the rim.
"""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise

from bins.process.reading import TemperatureReading

LONGEST_GAP = timedelta(hours=24)  # chosen: a look a day; over a night and a day nobody knows what was between
HOT_C, WARM_C = Decimal(55), Decimal(40)  # 40 CFR 257 appendix II, in vessel and the lower process
HOT_FOR = timedelta(hours=72)  # same: three days at 55 °C or more
WARM_FOR = timedelta(hours=120)  # same, lower process: five days at 40 °C or more ...
HOTTER_FOR = timedelta(hours=4)  # ... with four hours above 55 °C among them
NOTHING = timedelta(0)


@dataclass(frozen=True, slots=True)
class RecordedHeat:
    """The longest recorded times, and whether they reach the published targets."""

    hot: timedelta
    warm: timedelta
    hotter_while_warm: timedelta  # above 55 °C within the warm time that has most of it
    is_hot_reached: bool
    is_warm_reached: bool


def days_needed(celsius: float) -> float:
    """Days that the time-temperature rule of 40 CFR 503.32 asks for at a steady temperature: to explain, not to
    certify.

    ValueError below 50 °C, for which the rule wasn't made.
    """
    if celsius < 50:
        raise ValueError("the rule begins at 50 °C")
    return float(131_700_000 / 10 ** (0.14 * celsius))


def recorded_heat(readings: tuple[TemperatureReading, ...]) -> RecordedHeat:
    """The recorded heat of one batch. Readings in any order; two at one instant count as the lower of them."""
    spans = _spans(readings)
    hot = max((length for length, _ in _runs(spans, HOT_C)), default=NOTHING)
    warm_runs = _runs(spans, WARM_C)
    return RecordedHeat(
        hot=hot,
        warm=max((length for length, _ in warm_runs), default=NOTHING),
        hotter_while_warm=max((hotter for _, hotter in warm_runs), default=NOTHING),
        is_hot_reached=hot >= HOT_FOR,
        is_warm_reached=any(length >= WARM_FOR and hotter >= HOTTER_FOR for length, hotter in warm_runs),
    )


def _spans(readings: tuple[TemperatureReading, ...]) -> list[tuple[timedelta, Decimal | None]]:
    """Time and temperature between neighbours; None over a gap."""
    lowest: dict[object, TemperatureReading] = {}
    for reading in sorted(readings, key=lambda r: (r.at, -r.drum_c)):
        lowest[reading.at] = reading
    spans: list[tuple[timedelta, Decimal | None]] = []
    for one, other in pairwise(lowest.values()):
        length = other.at - one.at
        spans.append((length, min(one.drum_c, other.drum_c) if length <= LONGEST_GAP else None))
    return spans


def _runs(spans: list[tuple[timedelta, Decimal | None]], least_c: Decimal) -> list[tuple[timedelta, timedelta]]:
    """Unbroken times at `least_c` or more: how long, and how long of that above 55 °C."""
    runs, length, hotter = [], NOTHING, NOTHING
    for span, celsius in [*spans, (NOTHING, None)]:
        if celsius is not None and celsius >= least_c:
            length += span
            hotter += span if celsius > HOT_C else NOTHING
        elif length:
            runs.append((length, hotter))
            length = hotter = NOTHING
    return runs
