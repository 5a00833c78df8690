"""What a person saw or measured at a drum, as the decisions read it.

Instants are aware datetimes (UTC); temperatures are `Decimal` degrees Celsius, so that an edge such as
"less than 6 °C above the air" is decided exactly. Every reading refuses a naive instant with `ValueError`.
"""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum

from bins.process.symptom import Symptom

LOWEST_C = Decimal(-60)  # chosen: colder than any inhabited yard; beyond it somebody mistyped
HIGHEST_C = Decimal(100)  # water boils: no compost heap gets there


def require_aware(name: str, instant: datetime | None) -> None:
    """Raise ValueError unless `instant` is None or carries a time zone."""
    if instant is not None and instant.utcoffset() is None:
        raise ValueError(f"{name} has no time zone: {instant!r}")


def require_temperature(name: str, degrees_c: Decimal | None) -> None:
    """Raise ValueError unless `degrees_c` is None or a finite Decimal between -60 and 100."""
    if degrees_c is not None and not (degrees_c.is_finite() and LOWEST_C <= degrees_c <= HIGHEST_C):
        raise ValueError(f"{name} is outside {LOWEST_C} to {HIGHEST_C} °C: {degrees_c}")


class Squeeze(StrEnum):
    """The squeeze test: a handful pressed hard (LSU AgCenter: dusty / one or two drops / a stream)."""

    DRY = "dry"
    RIGHT = "right"
    WET = "wet"


@dataclass(frozen=True, slots=True)
class LevelReading:
    """The level of the batch, one per visit, in percent of the place's height (0 to 100).

    `turned`: read after a turn in that visit. Raises ValueError outside 0 to 100.
    """

    at: datetime
    percent: int
    turned: bool = False

    def __post_init__(self) -> None:
        require_aware("level reading", self.at)
        if not 0 <= self.percent <= 100:
            raise ValueError(f"a level is 0 to 100 percent, not {self.percent}")


@dataclass(frozen=True, slots=True)
class TemperatureReading:
    """The temperature in the batch and, if read, of the air beside the drum, both in °C."""

    at: datetime
    drum_c: Decimal
    air_c: Decimal | None = None
    turned: bool = False

    def __post_init__(self) -> None:
        require_aware("temperature reading", self.at)
        require_temperature("drum_c", self.drum_c)
        require_temperature("air_c", self.air_c)


@dataclass(frozen=True, slots=True)
class SqueezeReading:
    """One squeeze test of the batch."""

    at: datetime
    felt: Squeeze

    def __post_init__(self) -> None:
        require_aware("squeeze reading", self.at)


@dataclass(frozen=True, slots=True)
class SmellReading:
    """What a visit smelt at the batch: bad or not. No reading means that nobody reported a bad smell."""

    at: datetime
    bad: bool

    def __post_init__(self) -> None:
        require_aware("smell reading", self.at)


@dataclass(frozen=True, slots=True)
class SymptomsTold:
    """What somebody at the drum said is wrong with the batch; nothing told: that it is well again."""

    at: datetime
    told: frozenset[Symptom]

    def __post_init__(self) -> None:
        require_aware("symptoms", self.at)


@dataclass(frozen=True, slots=True)
class FreshScraps:
    """Scraps that went into a batch past filling: at least 1 ml; `removed` when they were taken out again."""

    at: datetime
    millilitres: int
    removed: bool = False

    def __post_init__(self) -> None:
        require_aware("fresh scraps", self.at)
        if self.millilitres < 1:
            raise ValueError(f"fresh scraps of {self.millilitres} ml are none")
