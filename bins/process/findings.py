"""All that is known of a batch when something is wrong with it, and the bands its readings fall into.

A band is what a reading says in a word: the weights speak of bands, never of degrees. What nobody read has no band and
says nothing either way.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from bins.process.mix import C_TO_N_GOOD
from bins.process.reading import Squeeze, require_temperature
from bins.process.stage import Stage
from bins.process.symptom import NEARER, Symptom

TOO_HOT_C = Decimal(65)  # NRAES-54, from memory: above it the decomposers die off
WORKS_ABOVE_AIR_C = Decimal(6)  # AgriFutures curing guide: less than this above the air is no warmth of its own
HOT_ABOVE_AIR_C = Decimal(25)  # chosen: what only a working batch of some size reaches
COLD_AIR_C = Decimal(10)  # chosen, as elsewhere: hardly any decay below
LOW_PERCENT, HIGH_PERCENT = 25, 85  # chosen: a quarter loses its heat; past 85 nothing tumbles
TURNED_LATELY_DAYS, TURNED_LONG_AGO_DAYS = 7, 14  # chosen: within a week is the routine, a fortnight is twice missed
YOUNG_DAYS = 21  # chosen: the acid start of food scraps is over by then
LONG_DAYS = 56  # Karnchanawong & Suriyanon 2011: stable from 56 days on


class Band(StrEnum):
    """What a reading says. Stored with the evidence: never rename one."""

    SQUEEZE_DRY = "squeeze_dry"
    SQUEEZE_RIGHT = "squeeze_right"
    SQUEEZE_WET = "squeeze_wet"
    NO_WARMTH = "no_warmth"
    WARM = "warm"
    HOT = "hot"
    OVER_65 = "over_65"
    AIR_COLD = "air_cold"
    AIR_MILD = "air_mild"
    LEVEL_LOW = "level_low"
    LEVEL_MIDDLE = "level_middle"
    LEVEL_HIGH = "level_high"
    BROWNS_FEW = "browns_few"
    BROWNS_RIGHT = "browns_right"
    BROWNS_MANY = "browns_many"
    TURNED_LATELY = "turned_lately"
    TURNED_A_WHILE_AGO = "turned_a_while_ago"
    TURNED_LONG_AGO = "turned_long_ago"
    OPEN_NEWLY = "open_newly"
    OPEN = "open"
    CLOSED = "closed"
    CLOSED_LONG = "closed_long"
    RESTING = "resting"
    FRESH = "fresh"


@dataclass(frozen=True, slots=True)
class Findings:
    """What was told and read of one batch. None: nobody knows. ValueError for a figure that can't be.

    c_to_n_low, c_to_n_high: of what went in, by the carbon that takes part and by all of it. days_closed is None while
    it fills. fresh_percent: scraps since closing, of the batch's volume.
    """

    stage: Stage
    symptoms: frozenset[Symptom] = frozenset()
    squeeze: Squeeze | None = None
    drum_c: Decimal | None = None
    air_c: Decimal | None = None
    level_percent: int | None = None
    c_to_n_low: float | None = None
    c_to_n_high: float | None = None
    days_open: int | None = None
    days_closed: int | None = None
    turned_days_ago: int | None = None
    fresh_percent: float | None = None

    def __post_init__(self) -> None:
        require_temperature("drum_c", self.drum_c)
        require_temperature("air_c", self.air_c)
        if self.level_percent is not None and not 0 <= self.level_percent <= 100:
            raise ValueError(f"a level is 0 to 100 percent, not {self.level_percent}")
        if (self.c_to_n_low is None) != (self.c_to_n_high is None):
            raise ValueError("the C:N of what went in is a range")
        for name in ("days_open", "days_closed", "turned_days_ago", "fresh_percent"):
            value = getattr(self, name)
            if value is not None and value < 0:
                raise ValueError(f"{name} is below 0: {value}")

    @property
    def has_complaint(self) -> bool:
        """Whether anything at all says that something is wrong: a symptom, or a reading no batch should show."""
        return bool(self.symptoms) or self.squeeze in (Squeeze.DRY, Squeeze.WET) or self._is_too_hot()

    @property
    def signs(self) -> frozenset[Symptom]:
        """The symptoms that count. One fact counts once: where it was measured or said nearer, that speaks."""
        left_out = {loose for loose, nearer in NEARER.items() if nearer & self.symptoms}
        if self.squeeze is not None:
            left_out |= {Symptom.DRY, Symptom.WET}
        if self.drum_c is not None and self.air_c is not None:
            left_out |= {Symptom.COLD, Symptom.TOO_HOT}
        return self.symptoms - left_out

    def bands(self) -> tuple[Band, ...]:
        """The bands of all that was read, at most one of a kind."""
        found = (
            self._squeeze(), self._warmth(), self._air(), self._level(), self._browns(), self._turned(), self._age(),
            Band.FRESH if self.fresh_percent else None,
        )  # fmt: skip
        return tuple(band for band in found if band is not None)

    def _is_too_hot(self) -> bool:
        return self.drum_c is not None and self.drum_c > TOO_HOT_C

    def _squeeze(self) -> Band | None:
        return None if self.squeeze is None else Band(f"squeeze_{self.squeeze}")

    def _warmth(self) -> Band | None:
        if self._is_too_hot():
            return Band.OVER_65
        if self.drum_c is None or self.air_c is None:
            return None
        above = self.drum_c - self.air_c
        if above < WORKS_ABOVE_AIR_C:
            return Band.NO_WARMTH
        return Band.HOT if above >= HOT_ABOVE_AIR_C else Band.WARM

    def _air(self) -> Band | None:
        if self.air_c is None:
            return None
        return Band.AIR_COLD if self.air_c < COLD_AIR_C else Band.AIR_MILD

    def _level(self) -> Band | None:
        if self.level_percent is None:
            return None
        if self.level_percent < LOW_PERCENT:
            return Band.LEVEL_LOW
        return Band.LEVEL_HIGH if self.level_percent >= HIGH_PERCENT else Band.LEVEL_MIDDLE

    def _browns(self) -> Band | None:
        if self.c_to_n_low is None or self.c_to_n_high is None:
            return None
        if self.c_to_n_high < C_TO_N_GOOD.low:
            return Band.BROWNS_FEW
        return Band.BROWNS_MANY if self.c_to_n_low > C_TO_N_GOOD.high else Band.BROWNS_RIGHT

    def _turned(self) -> Band | None:
        if self.turned_days_ago is None:
            return None
        if self.turned_days_ago < TURNED_LATELY_DAYS:
            return Band.TURNED_LATELY
        return Band.TURNED_LONG_AGO if self.turned_days_ago >= TURNED_LONG_AGO_DAYS else Band.TURNED_A_WHILE_AGO

    def _age(self) -> Band:
        if self.stage is Stage.FILLING:
            return Band.OPEN_NEWLY if self.days_open is not None and self.days_open <= YOUNG_DAYS else Band.OPEN
        if self.stage is not Stage.COMPOSTING:
            return Band.RESTING
        return Band.CLOSED_LONG if self.days_closed is not None and self.days_closed >= LONG_DAYS else Band.CLOSED
