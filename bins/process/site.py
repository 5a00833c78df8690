"""The numbers of a site that the chamber rules read. All are settings; the defaults carry their reason."""

from dataclasses import dataclass
from decimal import Decimal

from bins.process.materials import BROWNS_BY_CODE, SHAVINGS
from bins.process.reading import require_temperature

# Mean air by month, January first, °C. From memory: about New York (Central Park), rounded. A site sets its
# own twelve at set-up; an indoor site sets twelve times its room. Only read when nobody measured that week.
TEMPERATE_AIR_C = tuple(Decimal(c) for c in (1, 2, 6, 12, 17, 22, 25, 24, 20, 14, 8, 4))
INDOOR_AIR_C = (Decimal(18),) * 12  # chosen: a heated cellar


@dataclass(frozen=True, slots=True)
class SiteSettings:
    """The site's settings on the night of the decision. Raises ValueError when a number makes no sense."""

    close_mark_percent: int = 75  # chosen: a tumbler needs head room to tumble
    least_fill_percent: int = 50  # chosen: under half a chamber heats badly, so a date doesn't close it
    longest_fill_days: int = 60  # chosen: past that the first scraps in it are compost and the last are pails
    composting_days: int = 56  # chosen; Karnchanawong & Suriyanon 2011 saw stable compost at 56 to 91 days
    curing_days: int = 21  # chosen; AgriFutures curing guide: three to six weeks
    warm_above_c: Decimal = Decimal(10)  # chosen: hardly any decay below (a fifth of that at 30 °C)
    cool_within_c: Decimal = Decimal(6)  # AgriFutures curing guide: less than this above the air
    foresight_days: int = 14  # chosen: time to borrow a bin or buckets
    winter: bool = False  # the winter season is in force tonight; see winter.py for who says so
    winter_in_days: int | None = None  # days to the next winter, None indoors; see winter.py
    air_c_by_month: tuple[Decimal, ...] = TEMPERATE_AIR_C
    browns: str = SHAVINGS.code  # the kind that stands there, by its code

    def __post_init__(self) -> None:
        if not 0 < self.least_fill_percent <= self.close_mark_percent <= 100:
            raise ValueError("least fill and close mark must be 0 < least <= mark <= 100 percent")
        for name in ("longest_fill_days", "composting_days", "curing_days", "foresight_days"):
            if getattr(self, name) < 1:
                raise ValueError(f"{name} must be at least one day")
        if len(self.air_c_by_month) != 12:
            raise ValueError("air_c_by_month takes twelve numbers, January first")
        if self.browns not in BROWNS_BY_CODE:
            raise ValueError(f"nobody knows what a litre of {self.browns} weighs")
        for degrees_c in (*self.air_c_by_month, self.warm_above_c, self.cool_within_c):
            require_temperature("a setting", degrees_c)
