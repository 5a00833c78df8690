"""The money of a month beside what the drums did in it: what it cost each household, and each 100 kilos."""

from dataclasses import dataclass

from bins.months.figures import Figures
from households.cash_book import MoneyMonth
from households.models import Building

from .pages.coins import coins


@dataclass(frozen=True)
class Cost:
    """What went out, without deposits, in the smallest coin; None where there is nobody or nothing to divide by."""

    per_household: int | None  # with a drop-off in the span
    per_100_kg: int | None  # of scraps kept out of the bin


def cost(money: MoneyMonth, figures: Figures) -> Cost:
    """Rounded to the nearest coin."""
    return Cost(
        round(money.went_out / figures.households) if figures.households else None,
        round(money.went_out * 100_000 / figures.scraps_g) if figures.scraps_g > 0 else None,
    )


def money_said(money: MoneyMonth, figures: Figures, building: Building) -> dict[str, str]:
    """The figures by name, in the building's currency; nothing before any money is written down."""
    if not money.has_rows:
        return {}
    names = ("opening", "came_in", "went_out", "closing", "owed", "deposits")
    each = cost(money, figures)
    said = {name: coins(getattr(money, name), building) for name in names}
    for name in ("per_household", "per_100_kg"):
        value = getattr(each, name)
        said[name] = "" if value is None else coins(value, building)
    return said
