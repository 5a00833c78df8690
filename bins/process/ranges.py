"""How good ranges were: how many held, and their interval score beside that of others.

Coverage alone is had without skill: a range from now till doomsday always holds. The interval score of a central
1 - a range (Gneiting & Raftery 2007) is its width plus 2/a for each unit by which the truth lies outside; less is
better. Here a = 0.2 and the unit is a day.

    range         truth     score
    day 10 to 30  day 20    20
    day 10 to 30  day 33    20 + 10 x 3 = 50
    day 0 to 100  day 33    100
"""

from collections.abc import Sequence
from dataclasses import dataclass

MISSING_SHARE = 0.2  # a range from 10 to 90 % misses one time in five
LEAST_SAID = 3  # chosen: "1 of 1 held" promises what one lot can't


@dataclass(frozen=True, slots=True)
class Tried:
    """One range, its rival and the truth, in days from any common day. ValueError where a range runs backwards."""

    low: int
    high: int
    truth: int
    rival_low: int
    rival_high: int

    def __post_init__(self) -> None:
        if self.low > self.high or self.rival_low > self.rival_high:
            raise ValueError("a range runs upwards")

    @property
    def held(self) -> bool:
        """Both ends count."""
        return self.low <= self.truth <= self.high


@dataclass(frozen=True, slots=True)
class Record:
    """`held` of `tried` ranges; mean scores in days, 0 or more, of the ranges and of their rivals."""

    tried: int
    held: int
    score_days: float
    rival_score_days: float

    @property
    def says_something(self) -> bool:
        return self.tried >= LEAST_SAID


def record(tries: Sequence[Tried]) -> Record | None:
    """None of no tries."""
    if not tries:
        return None
    return Record(
        tried=len(tries),
        held=sum(one.held for one in tries),
        score_days=sum(interval_score(one.low, one.high, one.truth) for one in tries) / len(tries),
        rival_score_days=sum(interval_score(one.rival_low, one.rival_high, one.truth) for one in tries) / len(tries),
    )


def interval_score(low: int, high: int, truth: int) -> float:
    """Days; low to high, both ends within."""
    outside = max(low - truth, truth - high, 0)
    return high - low + 2 / MISSING_SHARE * outside
