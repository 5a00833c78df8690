"""The three home tests of finished compost, as raw results; whether one passed is computed, never stored.

Rule 6: a bag that doesn't smell after 7 days, 3 of 4 radish seeds, or a flask within 10 °C of the room.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from bins.process.reading import require_aware, require_temperature

BAG_DAYS = 7  # the usual week of the trade's bag test (from memory)
LEAST_SEEDS = 4  # UF/IFAS Sarasota: four radish seeds
SEEDS_PASS = (3, 4)  # same: 3 of 4 sprout
FLASK_WITHIN_C = Decimal(10)  # self-heating class V is up to 10 °C over the room (classes from memory)


@dataclass(frozen=True, slots=True)
class BagTest:
    """Moist compost sealed in a bag from `started_at` to `read_at`. ValueError if read before started."""

    started_at: datetime
    read_at: datetime
    bad_smell: bool

    def __post_init__(self) -> None:
        require_aware("bag test start", self.started_at)
        require_aware("bag test", self.read_at)
        if self.read_at < self.started_at:
            raise ValueError("a bag can't be opened before it was closed")

    @property
    def passed(self) -> bool:
        """True when it stood seven days (exactly seven count) and smelt of earth."""
        return not self.bad_smell and self.read_at - self.started_at >= timedelta(days=BAG_DAYS)


@dataclass(frozen=True, slots=True)
class SeedTest:
    """Radish seeds sown into the compost. ValueError unless 0 <= sprouted <= sown and sown >= 4."""

    read_at: datetime
    sown: int
    sprouted: int

    def __post_init__(self) -> None:
        require_aware("seed test", self.read_at)
        if self.sown < LEAST_SEEDS or not 0 <= self.sprouted <= self.sown:
            raise ValueError(f"{self.sprouted} of {self.sown} is no seed test (at least {LEAST_SEEDS} seeds)")

    @property
    def passed(self) -> bool:
        """True when at least three in four sprouted."""
        good, of = SEEDS_PASS
        return self.sprouted * of >= self.sown * good


@dataclass(frozen=True, slots=True)
class FlaskTest:
    """The highest temperature a moist handful reached in a thermos flask, and the room's, in °C."""

    read_at: datetime
    highest_c: Decimal
    room_c: Decimal

    def __post_init__(self) -> None:
        require_aware("flask test", self.read_at)
        require_temperature("highest_c", self.highest_c)
        require_temperature("room_c", self.room_c)

    @property
    def passed(self) -> bool:
        """True when it stayed within 10 °C of the room (exactly 10 counts)."""
        return self.highest_c - self.room_c <= FLASK_WITHIN_C


MaturityTest = BagTest | SeedTest | FlaskTest
