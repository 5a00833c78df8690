"""How many households a drum carries: the sum in print, and the chamber rules run day by day over many years.

The sum: while one chamber rests, the other takes all that is brought, so
    households = chamber litres x fill / (litres a household and week x weeks from closing to empty).
Worked, for 500 L, 2.2 kg a week at 0.45 kg/L, browns 1:1, half of it left after settling (4.89 L a week):

    8 weeks' rest, brim-full   12.8 households      12 weeks' rest, brim-full       8.5 households
    8 weeks' rest, 90 % full   11.5 households      12 weeks' rest, 75 % full       6.4 households

The sum knows no visits. The run does: a level every third day, the night's rule on it, the tag moved next
morning, and a drum that stands shut until a chamber is empty.
"""

from collections import deque
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from uuid import UUID

from bins.process.filling import decide_filling
from bins.process.reading import LevelReading
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, PlaceSnapshot
from bins.process.stage import Stage

TEST_DAYS = 7  # the bag test takes seven days; with the default 56 and 21 it makes 84 from closing to empty
VISIT_EVERY_DAYS = 3  # default turning of the open drum
YEARS = 30
EVENING = timedelta(hours=18)
BEGIN = datetime(2001, 1, 1, tzinfo=UTC)  # any day: without a winter the rules ask for spans alone
LEVELS_KEPT = 2  # each is read after a turn, so rule 2 looks at the last two
DRUM = UUID(int=1)


@dataclass(frozen=True, slots=True)
class Load:
    """What one household that takes part brings. ValueError unless each number is above 0 (browns: 0 or more)."""

    kg_per_week: float = 2.2  # seven published schemes, 1.4-3.5: plan with 2.2
    kg_per_litre: float = 0.45  # bucket method, Eawag/Sandec after Cooperband 2002
    browns_per_scraps: float = 1.0  # litres of browns per litre of scraps; in print 1:3 to 3:1
    settled: float = 0.5  # share of the loose volume that is left after settling: the sum in print takes half

    def __post_init__(self) -> None:
        if min(self.kg_per_week, self.kg_per_litre, self.settled) <= 0 or self.browns_per_scraps < 0:
            raise ValueError("a load is above nothing")

    @property
    def litres_per_week(self) -> float:
        """Settled litres of one household and week."""
        return self.kg_per_week / self.kg_per_litre * (1 + self.browns_per_scraps) * self.settled


@dataclass(frozen=True, slots=True)
class Carried:
    """How many households some drums carry: `careful` at the closing mark, `most` filled to the brim."""

    careful: int
    most: int


@dataclass(frozen=True, slots=True)
class Run:
    """What came of a run: days, days with an open hatch, and the level (percent) of each batch as it closed."""

    days: int
    open_days: int
    levels_at_closing: tuple[int, ...]

    @property
    def open_percent(self) -> int:
        """Whole percent of days with an open hatch, rounded down: 99.9 is not always."""
        return 100 * self.open_days // self.days


def days_to_empty(settings: SiteSettings) -> int:
    """Days from closing to an empty chamber: composting, curing, and the test before it may be taken out."""
    return settings.composting_days + settings.curing_days + TEST_DAYS


def sum_in_print(chamber_litres: float, load: Load, *, rest_weeks: float, fill: float) -> float:
    """Households that one drum of two chambers carries, by the sum; `fill` is a share of the chamber (0 to 1].

    ValueError outside those ranges.
    """
    if chamber_litres <= 0 or rest_weeks <= 0 or not 0 < fill <= 1:
        raise ValueError("litres and weeks are above nothing, a fill is above 0 and at most 1")
    return chamber_litres * fill / (load.litres_per_week * rest_weeks)


def carried(chamber_litres: float, drums: int, load: Load, settings: SiteSettings) -> Carried:
    """The range for a number of like drums. A household has one drum, so each drum's figure is rounded down."""
    rest_weeks = days_to_empty(settings) / 7
    mark = settings.close_mark_percent / 100
    careful, most = (
        drums * int(sum_in_print(chamber_litres, load, rest_weeks=rest_weeks, fill=fill)) for fill in (mark, 1.0)
    )
    return Carried(careful, most)


def run(
    households: float,
    chamber_litres: int,
    load: Load,
    settings: SiteSettings,
    *,
    with_curing_bin: bool = False,
    years: int = YEARS,
) -> Run:
    """Live one drum of two chambers for `years`, deciding each night by the very rule that closes real ones.

    A curing bin takes a batch when its composting days are over, and is taken itself until the batch is out.
    What is brought while nothing is open goes elsewhere. The same arguments give the same run.
    ValueError unless households and litres are above 0 and a year is lived.
    """
    if households <= 0 or chamber_litres <= 0 or years < 1:
        raise ValueError("a run has households, litres and years")
    yard = _Yard(households * load.litres_per_week / 7, chamber_litres, settings, with_curing_bin)
    days = years * 365
    for day in range(days):
        yard.live(day)
    return Run(days, yard.open_days, tuple(yard.levels_at_closing))


class _Yard:
    """One drum on one day: what stands where, and nothing of what was."""

    def __init__(self, litres_a_day: float, chamber_litres: int, settings: SiteSettings, has_bin: bool) -> None:
        self.litres_a_day, self.chamber_litres, self.settings = litres_a_day, chamber_litres, settings
        self.places = tuple(PlaceSnapshot(UUID(int=2 + n), mark, empty=True) for n, mark in enumerate("AB"))
        self.resting: dict[UUID, int] = {}  # chamber -> the day on which its batch closed
        self.bin_free_on: int | None = 0 if has_bin else None
        self.levels: deque[LevelReading] = deque(maxlen=LEVELS_KEPT)
        self.open_days = 0
        self.levels_at_closing: list[int] = []
        self.open_at: UUID | None = self.places[0].uid
        self.litres, self.opened_at = 0.0, BEGIN
        self.closes = False  # as the last night said

    def live(self, day: int) -> None:
        self._make_room(day)
        self._move_the_tag(day)
        if self.open_at is None:
            return
        self.open_days += 1
        self.litres = min(self.litres + self.litres_a_day, self.chamber_litres)
        now = BEGIN + timedelta(days=day) + EVENING
        if day % VISIT_EVERY_DAYS == 0:
            self.levels.append(LevelReading(now, self._level(), turned=True))
        self._night(now + timedelta(hours=9))

    def _level(self) -> int:
        return int(100 * self.litres / self.chamber_litres)

    def _make_room(self, day: int) -> None:
        for place, closed in list(self.resting.items()):
            if day - closed >= days_to_empty(self.settings):
                del self.resting[place]
            elif (
                self.bin_free_on is not None
                and day - closed >= self.settings.composting_days
                and day >= self.bin_free_on
            ):
                del self.resting[place]
                self.bin_free_on = closed + days_to_empty(self.settings)

    def _move_the_tag(self, day: int) -> None:
        if self.closes and self.open_at is not None:
            self.levels_at_closing.append(self._level())
            self.resting[self.open_at] = day
            self.open_at, self.closes = None, False
        if self.open_at is None:
            self.open_at = next((place.uid for place in self.places if place.uid not in self.resting), None)
            self.litres, self.opened_at = 0.0, BEGIN + timedelta(days=day)
            self.levels.clear()

    def _night(self, now: datetime) -> None:
        assert self.open_at is not None  # a drum that stands shut has no night
        batch = BatchSnapshot(
            uid=UUID(int=9),
            drum_uid=DRUM,
            place_uid=self.open_at,
            stage=Stage.FILLING,
            opened_at=self.opened_at,
            place_litres=self.chamber_litres,
            levels=tuple(self.levels),
        )
        places = tuple(place if place.uid not in self.resting else replace(place, empty=False) for place in self.places)
        self.closes = bool(decide_filling(DrumSnapshot(DRUM, places, (batch,)), self.settings, now))
