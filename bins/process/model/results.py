"""What comes out of the model: ranges, bands, forecasts, a clash, a season. border.py says which function gives
which."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class DateRange:
    """10, 50 and 90 % of a day; None: not within the horizon. They never run backwards."""

    p10: date | None
    p50: date | None
    p90: date | None


@dataclass(frozen=True, slots=True)
class Range:
    """10, 50 and 90 % of an amount; the unit is in the name of whoever holds it."""

    p10: float
    p50: float
    p90: float

    def __post_init__(self) -> None:
        if not self.p10 <= self.p50 <= self.p90:
            raise ValueError("a range runs upwards")


@dataclass(frozen=True, slots=True)
class Series:
    """One value a day at the end of each day, `first` first: the three lines of a band chart."""

    first: date
    p10: tuple[float, ...]
    p50: tuple[float, ...]
    p90: tuple[float, ...]

    def __post_init__(self) -> None:
        if not len(self.p10) == len(self.p50) == len(self.p90):
            raise ValueError("a band's three lines are equally long")


@dataclass(frozen=True, slots=True)
class Forecast:
    """What is to be expected of a batch, as of the end of `made_on`.

    `full`: the level meets the close mark (None throughout for a closed batch). `curing`: rule 5 would pass. `ready`:
    potential respiration is down to that of finished compost and the curing days are over. `compost_litres`,
    `compost_kg`: what comes out on the ready day (or the horizon). `level_percent`, `temperature_c`,
    `moisture_percent`, `respiration` (mg CO2-C a gram of organic matter without woody browns and day, at 30 °C, moist
    and aired) are daily bands from the day after `made_on`. `full_days`, `curing_days`, `ready_days`: the 64 members'
    days after `made_on` (0: already; horizon + 1: not within it), to be stored for `clash.clash`.
    """

    made_on: date
    horizon_days: int
    full: DateRange
    curing: DateRange
    ready: DateRange
    compost_litres: Range
    compost_kg: Range
    level_percent: Series
    temperature_c: Series
    moisture_percent: Series
    respiration: Series
    full_days: tuple[int, ...]
    curing_days: tuple[int, ...]
    ready_days: tuple[int, ...]
    effective: float


@dataclass(frozen=True, slots=True)
class Clash:
    """`probability` (0 to 1) that the open hatch is full before any other place is empty, within the horizon.

    `full` is when the open hatch is full, `empty` when the first other place is; `days_short` how long nothing is
    open, of those members that clash (None when none does).
    """

    probability: float
    full: DateRange
    empty: DateRange
    days_short: Range | None


@dataclass(frozen=True, slots=True)
class Season:
    """What came of a plan, over its members.

    `full_site_probability`: at least one day on which a drum has no open hatch. `open_percent`: days with an open
    hatch. `first_full`: the first such day. `first_ready`: the first compost. `ready_by_need`: probability that some
    is ready by `need_by`, None without one. `compost_litres`: all that got ready. `daily_full`: for each day the
    share of members whose site was full.
    """

    full_site_probability: float
    open_percent: Range
    first_full: DateRange
    first_ready: DateRange
    ready_by_need: float | None
    compost_litres: Range
    daily_full: tuple[float, ...]


def in_order(values: Sequence[float]) -> Range:
    """Three percentiles as a range, rounded so that no rounding of a library shows."""
    low, middle, high = (round(float(v), 3) for v in values)
    return Range(low, max(low, middle), max(low, middle, high))
