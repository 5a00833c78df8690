"""What goes into the model: frozen dataclasses that validate themselves. What comes out is in results.py.

The entry functions, all pure and vectorised over whatever they are given at once:

    hindcast.hindcast(histories, until, kept=None) -> tuple[Hindcast, ...]
        Lives each batch with 512 members up to the end of the day `until` and weighs them by the readings. `kept` is
        the `Hindcast.kept` of an earlier day, or None: then it begins at the first addition. A night hands in last
        night's and advances one day; a late row hands in the newest that is older than the row. Same answer either
        way.
    forecast.forecast(outlooks) -> tuple[Forecast, ...]
        Resamples each hindcast to 64 members and lives them `Future.horizon_days` ahead. With and without a remedy: two
        outlooks with the same history and hindcast and another `Future`.
    forecast.prior_only(outlooks) -> tuple[Forecast, ...]
        The same with all readings forgotten: what past ranges are scored against.
    clash.clash(filling, others, free_places=0, has_bin=False) -> Clash
        How probable it is that the open hatch is full before another place is empty.
    season.what_if(plan, progress=None) -> Season
        One site lived for a season from its own drop-offs; `progress(done_days, all_days)` is called now and then.
    shrinking.shrink(finished) -> Site
        What a site's own finished batches teach about the next one.

Instants are aware datetimes; days are days of the building's standard offset from UTC. Instants later than the end of
`until` are ignored, so a night that is made up for answers as it would have then.
"""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum

from bins.process.degradability import SPLITS
from bins.process.maturity import MaturityTest
from bins.process.reading import (
    LevelReading,
    SmellReading,
    SqueezeReading,
    TemperatureReading,
    require_aware,
)
from bins.process.site import TEMPERATE_AIR_C, SiteSettings

MEMBERS_BEHIND, MEMBERS_AHEAD = 512, 64  # fewer collapse under readings; 64 are enough once they count alike
PARAMETERS = 12  # columns of the table of draws; parameters.py names them


class Insulation(StrEnum):
    """The drum's wall: bare plastic or steel, double or wrapped, or foam of some centimetres."""

    BARE = "bare"
    DOUBLE = "double"
    FOAM = "foam"


class Vents(StrEnum):
    """How much air the drum lets in: a few holes, the usual grilles, or mesh all along."""

    FEW = "few"
    USUAL = "usual"
    MANY = "many"


@dataclass(frozen=True, slots=True)
class Vessel:
    """A chamber or a curing bin: 5 to 5,000 litres (ValueError beyond)."""

    litres: float
    insulation: Insulation = Insulation.BARE
    vents: Vents = Vents.USUAL
    indoors: bool = False

    def __post_init__(self) -> None:
        if not 5 <= self.litres <= 5000:
            raise ValueError(f"a vessel of {self.litres} litres is none that people tumble")


@dataclass(frozen=True, slots=True)
class Stay:
    """A batch stands in `vessel` from `since` on, until the next stay."""

    since: datetime
    vessel: Vessel

    def __post_init__(self) -> None:
        require_aware("since", self.since)


@dataclass(frozen=True, slots=True)
class Part:
    """So many wet kilos of a material (a code of bins.process.materials). `litres`: loose volume, else by its density.

    `moisture`: 0 to 1 where the site has measured. ValueError for an unknown code or a number out of range.
    """

    code: str
    wet_kg: float
    litres: float | None = None
    moisture: float | None = None

    def __post_init__(self) -> None:
        if self.code not in SPLITS:
            raise ValueError(f"no degradability is known for {self.code!r}")
        if not 0 <= self.wet_kg <= 5000 or (self.litres is not None and self.litres < 0):
            raise ValueError(f"{self.code}: {self.wet_kg} kg, {self.litres} litres is no amount")
        if self.moisture is not None and not 0 <= self.moisture < 1:
            raise ValueError(f"{self.code}: moisture is 0 up to (not) 1")


@dataclass(frozen=True, slots=True)
class Addition:
    """What went into a batch at one instant; `water_kg` poured on (0 or more)."""

    at: datetime
    parts: tuple[Part, ...] = ()
    water_kg: float = 0.0

    def __post_init__(self) -> None:
        require_aware("addition", self.at)
        if self.water_kg < 0:
            raise ValueError("water is 0 kg or more")


@dataclass(frozen=True, slots=True)
class HarvestReading:
    """What was taken out at the end: litres struck level and, if weighed, kilos; above nothing."""

    at: datetime
    litres: float
    wet_kg: float | None = None

    def __post_init__(self) -> None:
        require_aware("harvest", self.at)
        if self.litres <= 0 or (self.wet_kg is not None and self.wet_kg <= 0):
            raise ValueError("a harvest is above nothing")


@dataclass(frozen=True, slots=True)
class AirReading:
    """The air beside the drum, °C."""

    at: datetime
    air_c: float

    def __post_init__(self) -> None:
        require_aware("air reading", self.at)
        if not -60 <= self.air_c <= 60:
            raise ValueError(f"air of {self.air_c} °C is a slip of the pen")


@dataclass(frozen=True, slots=True)
class Climate:
    """The air at the site: twelve monthly means, January first, °C, and a room's, bent by what was read there."""

    monthly_c: tuple[float, ...] = tuple(float(c) for c in TEMPERATE_AIR_C)
    indoor_c: float = 18.0  # chosen: a heated cellar
    readings: tuple[AirReading, ...] = ()

    def __post_init__(self) -> None:
        if len(self.monthly_c) != 12 or not all(-60 <= c <= 60 for c in (*self.monthly_c, self.indoor_c)):
            raise ValueError("a climate has twelve means between -60 and 60 °C")


@dataclass(frozen=True, slots=True)
class Site:
    """A site's own priors: where each parameter's centre lies and how wide it is, in spreads of the general prior.

    The default is the general prior itself. ValueError unless there are `PARAMETERS` of each, widths above 0, up to 1.
    """

    shift: tuple[float, ...] = (0.0,) * PARAMETERS
    width: tuple[float, ...] = (1.0,) * PARAMETERS
    batches: int = 0

    def __post_init__(self) -> None:
        if len(self.shift) != PARAMETERS or len(self.width) != PARAMETERS:
            raise ValueError(f"a site has {PARAMETERS} shifts and widths")
        if not all(abs(s) <= 4 for s in self.shift) or not all(0 < w <= 1 for w in self.width):
            raise ValueError("a shift is within 4 spreads and a width above 0, up to 1")


@dataclass(frozen=True, slots=True)
class History:
    """One batch as recorded. Rows may come in any order. A merged batch brings its additions and readings along.

    `closed_at`: when filling ended, None while it fills. `curing_at`: when curing began, None before. `offset`: the
    building's standard offset from UTC. ValueError without a stay, or when it closed before it opened.
    """

    opened_at: datetime
    stays: tuple[Stay, ...]
    climate: Climate
    closed_at: datetime | None = None
    curing_at: datetime | None = None
    additions: tuple[Addition, ...] = ()
    turns: tuple[datetime, ...] = ()
    levels: tuple[LevelReading, ...] = ()
    temperatures: tuple[TemperatureReading, ...] = ()
    squeezes: tuple[SqueezeReading, ...] = ()
    smells: tuple[SmellReading, ...] = ()
    tests: tuple[MaturityTest, ...] = ()
    harvests: tuple[HarvestReading, ...] = ()
    site: Site = field(default_factory=Site)
    offset: timedelta = timedelta(0)

    def __post_init__(self) -> None:
        require_aware("opened_at", self.opened_at)
        require_aware("closed_at", self.closed_at)
        require_aware("curing_at", self.curing_at)
        for turn in self.turns:
            require_aware("turn", turn)
        if not self.stays:
            raise ValueError("a batch stands somewhere")
        if self.closed_at is not None and self.closed_at < self.opened_at:
            raise ValueError("a batch closes after it opens")
        object.__setattr__(self, "stays", tuple(sorted(self.stays, key=lambda stay: stay.since)))

    def day_of(self, instant: datetime) -> date:
        """The building's day in which an instant lies, by its standard offset."""
        return (instant - instant.utcoffset() + self.offset).date()  # type: ignore[operator]

    @property
    def first_day(self) -> date:
        """The day it opened, or that of an earlier addition."""
        return min(self.day_of(at) for at in (self.opened_at, *(a.at for a in self.additions)))


@dataclass(frozen=True, slots=True)
class Kept:
    """The members' states at the end of `day`, to go on from: bytes for a column, about 25 kB. Never edited.

    `version` is `state.VERSION`; one made by another version can't be continued (ValueError in hindcast): begin anew.
    """

    day: date
    version: int
    blob: bytes


@dataclass(frozen=True, slots=True)
class Hindcast:
    """A batch lived up to the end of a day.

    `effective`: how many of the 512 members count after tempering, 32 or more. `temper`: the share of the readings'
    evidence that was used (1: all of it). `log_evidence`: the log of the readings' mean likelihood, rounded. `shift`,
    `width`: the posterior of each parameter, in spreads of the general prior (for shrinking.py).
    """

    kept: Kept
    effective: float
    temper: float
    log_evidence: float
    shift: tuple[float, ...]
    width: tuple[float, ...]
    site: Site


@dataclass(frozen=True, slots=True)
class Inflow:
    """What a day brings while the batch fills: mean wet kilos a day of each material, drop-offs of the last weeks.

    `spread`: how far the coming weeks' mean may lie off, as a log-normal standard deviation. ValueError outside 0 to 2.
    """

    parts: tuple[Part, ...] = ()
    spread: float = 0.3  # chosen: a quarter more or less between two months of a dozen households

    def __post_init__(self) -> None:
        if not 0 <= self.spread <= 2:
            raise ValueError("a spread is 0 to 2")


@dataclass(frozen=True, slots=True)
class Future:
    """What is assumed from now on. `additions` are single deeds ahead (a remedy); `turn_every_days` None: never."""

    inflow: Inflow = field(default_factory=Inflow)
    additions: tuple[Addition, ...] = ()
    turn_every_days: int | None = 3
    horizon_days: int = 180
    settings: SiteSettings = field(default_factory=SiteSettings)

    def __post_init__(self) -> None:
        if not 1 <= self.horizon_days <= 730:
            raise ValueError("a horizon is 1 to 730 days")
        if self.turn_every_days is not None and self.turn_every_days < 1:
            raise ValueError("turns are at least a day apart")


@dataclass(frozen=True, slots=True)
class Outlook:
    """One forecast to be made."""

    history: History
    hindcast: Hindcast
    future: Future = field(default_factory=Future)


@dataclass(frozen=True, slots=True)
class Plan:
    """A site to be lived for a season: the three levers are households, drums or curing bins, and browns.

    `chamber_litres` of each of a drum's two chambers. `kg_per_week`, `browns_per_scraps` (by loose volume), `browns`
    (a code): what one household brings. `began`: the day the first hatch opens. `need_by`: compost is wanted by then
    (season plan), or None.
    """

    began: date
    days: int
    households: float
    drums: int
    vessel: Vessel
    climate: Climate
    curing_bins: int = 0
    kg_per_week: float = 2.2
    browns: str = "shavings"
    browns_per_scraps: float = 1.0
    kg_per_litre: float = 0.45
    spread: float = 0.3
    turn_every_days: int | None = 3
    need_by: date | None = None
    site: Site = field(default_factory=Site)
    settings: SiteSettings = field(default_factory=SiteSettings)

    def __post_init__(self) -> None:
        if not 1 <= self.days <= 730 or self.drums < 1 or self.curing_bins < 0 or self.households <= 0:
            raise ValueError("a plan has days up to 730, drums and households")
        if min(self.kg_per_week, self.kg_per_litre) <= 0 or self.browns_per_scraps < 0:
            raise ValueError("a household brings more than nothing")
        if self.browns not in SPLITS:
            raise ValueError(f"no degradability is known for {self.browns!r}")
