"""Calendar months in a building's own time zone, named by their first day; three make a quarter, twelve a year."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Q

from households.models import Building


def after(first_day: dt.date) -> dt.date:
    return (first_day + dt.timedelta(days=32)).replace(day=1)


def before(first_day: dt.date) -> dt.date:
    return (first_day - dt.timedelta(days=1)).replace(day=1)


@dataclass(frozen=True)
class Period:
    """A month, a quarter or a year of the calendar: `months` is 1, 3 or 12. ValueError for any other."""

    first_day: dt.date
    months: int = 1

    def __post_init__(self) -> None:
        if self.months not in (1, 3, 12) or self.first_day.day != 1 or (self.first_day.month - 1) % self.months:
            raise ValueError(f"no month, quarter or year: {self.months} from {self.first_day}")

    @property
    def firsts(self) -> tuple[dt.date, ...]:
        """The first day of each of its months."""
        found = [self.first_day]
        while len(found) < self.months:
            found.append(after(found[-1]))
        return tuple(found)

    @property
    def after(self) -> dt.date:
        """The first day that is no longer in it."""
        return after(self.firsts[-1])

    @property
    def last_day(self) -> dt.date:
        return self.after - dt.timedelta(days=1)

    @property
    def number(self) -> int:
        """1 to 12 for a month, 1 to 4 for a quarter, 1 for a year."""
        return (self.first_day.month - 1) // self.months + 1

    @property
    def next(self) -> "Period":
        return Period(self.after, self.months)

    @property
    def previous(self) -> "Period":
        first_day = self.first_day
        for _ in range(self.months):
            first_day = before(first_day)
        return Period(first_day, self.months)


def span(building: Building, first_day: dt.date, until: dt.date | None = None) -> Q:
    """Ledger rows that count in the month, or from a day to before another."""
    return Q(counts_at__gte=building.instant(first_day), counts_at__lt=building.instant(until or after(first_day)))
