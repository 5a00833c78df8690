"""What a month, a quarter or a year is about, read once: page, PDF and CSV are made of this one object."""

import datetime as dt
from dataclasses import dataclass

from bins.models import MonthClosing
from bins.months.calendar import Period
from bins.months.close import closing_of
from bins.months.figures import Figures, figures
from bins.months.open_days import OpenDays, open_days
from bins.process.greenhouse import Assessment, Emission, emission
from households.cash_book import MoneyMonth, money_between
from households.models import Building

KINDS = {"month": 1, "quarter": 3, "year": 12}


@dataclass(frozen=True)
class Report:
    building: Building
    period: Period
    figures: Figures
    open_days: OpenDays | None
    money: MoneyMonth | None  # where the reader may see it, and there is any
    emission: Emission | None  # off unless the building wants it
    closing: MonthClosing | None  # of a month that was closed
    today: dt.date

    @property
    def is_running(self) -> bool:
        return self.period.after > self.today


def period_of(kind: str, year: int, number: int) -> Period:
    """KeyError for another kind; ValueError for a number that it doesn't have, or a year beyond 2000 to 2200."""
    months = KINDS[kind]
    if not 2000 <= year <= 2200:
        raise ValueError(f"no year of the record: {year}")
    return Period(dt.date(year, (number - 1) * months + 1, 1), months)


def report_of(building: Building, period: Period, today: dt.date, *, with_money: bool) -> Report:
    """All of it, in a fixed number of queries."""
    found = figures(building, period)
    money = money_between(building, period.first_day, period.after) if with_money else None
    assessment = building.greenhouse
    return Report(
        building=building,
        period=period,
        figures=found,
        open_days=open_days(building, period, today),
        money=money if money and money.has_rows else None,
        emission=emission(max(found.scraps_g, 0) / 1000, Assessment(assessment)) if assessment else None,
        closing=closing_of(building, period.first_day) if period.months == 1 else None,
        today=today,
    )
