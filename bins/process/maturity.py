"""The three home tests of finished compost, as raw results; whether one passed is computed, never stored.

Rule 6: a bag that doesn't smell after 7 days, 3 of 4 radish seeds, or a flask within 10 °C of the room.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from bins.process.reading import require_aware, require_temperature

BAG_DAYS = 7  # the usual week of the trade's bag test (from memory)
LEAST_SEEDS = 4  # UF/IFAS Sarasota: four radish seeds
SEEDS_PASS = (3, 4)  # same: 3 of 4 sprout
FLASK_WITHIN_C = Decimal(10)  # self-heating class V is up to 10 °C over the room (classes from memory)
EMERGENCE_PASSES = 80  # Caltrans / CalRecycle: percent of what sprouts in plain potting soil
GERMINATION_MARKS = (70, 80)  # Zucconi 1981, from memory: from 70 hardly any root poison, from 80 none


class SelfHeating(StrEnum):
    """How much a moist handful warms itself in a thermos flask: I very fresh ... V finished.

    I and II read in copies of the trade's table, III to V from memory. The table speaks of a room of 20 °C; here the
    class goes by the rise over the room's own, so that a cold cellar passes nothing.
    """

    I = "I"  # more than 40 °C above the room  # noqa: E741
    II = "II"  # up to 40
    III = "III"  # up to 30
    IV = "IV"  # up to 20
    V = "V"  # up to 10

    @classmethod
    def of_rise(cls, rise_c: Decimal) -> "SelfHeating":
        """The class of a rise over the room in °C; an edge belongs to the calmer class."""
        edges = ((FLASK_WITHIN_C, cls.V), (Decimal(20), cls.IV), (Decimal(30), cls.III), (Decimal(40), cls.II))
        return next((found for edge, found in edges if rise_c <= edge), cls.I)


@dataclass(frozen=True, slots=True)
class PlainSoil:
    """The same seeds sown the same day into plain potting soil, to compare with.

    Mean root lengths in millimetres, of the compost's seedlings and of the soil's; None where nobody measured.
    ValueError unless 1 <= sprouted <= sown and lengths are above 0.
    """

    sown: int
    sprouted: int
    compost_root_mm: int | None = None
    soil_root_mm: int | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.sprouted <= self.sown:
            raise ValueError("nothing can be compared with a soil in which nothing sprouts")
        if any(mm is not None and mm < 1 for mm in (self.compost_root_mm, self.soil_root_mm)):
            raise ValueError("a root has a length")


def emergence_percent(sown: int, sprouted: int, soil: PlainSoil) -> Decimal:
    """What sprouted in the compost, in percent of what sprouted in plain soil."""
    return Decimal(100 * sprouted * soil.sown) / (sown * soil.sprouted)


def germination_index(sown: int, sprouted: int, soil: PlainSoil) -> Decimal | None:
    """Emergence times root length, both in percent of plain soil's (Zucconi 1981); None without root lengths."""
    if soil.compost_root_mm is None or soil.soil_root_mm is None:
        return None
    return emergence_percent(sown, sprouted, soil) * soil.compost_root_mm / soil.soil_root_mm


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
    soil: PlainSoil | None = None

    def __post_init__(self) -> None:
        require_aware("seed test", self.read_at)
        if self.sown < LEAST_SEEDS or not 0 <= self.sprouted <= self.sown:
            raise ValueError(f"{self.sprouted} of {self.sown} is no seed test (at least {LEAST_SEEDS} seeds)")

    @property
    def passed(self) -> bool:
        """True when at least three in four sprouted, and 80 % of what did in plain soil where that was sown as well."""
        good, of = SEEDS_PASS
        if self.soil is not None and emergence_percent(self.sown, self.sprouted, self.soil) < EMERGENCE_PASSES:
            return False
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

    @property
    def self_heating(self) -> SelfHeating:
        """Its class, I to V; V has passed."""
        return SelfHeating.of_rise(self.highest_c - self.room_c)


MaturityTest = BagTest | SeedTest | FlaskTest
