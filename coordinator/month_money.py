"""The money of a period beside what the drums did in it: what it cost each household, and each 100 kilos or pounds.

Page, report and API take both from here, so that they divide by the same households and the same scraps.
"""

from dataclasses import dataclass

from bins.months.figures import Figures
from households.cash_book import MoneyMonth
from households.models import Building

from .pages.amounts import per_hundred
from .pages.coins import coins


@dataclass(frozen=True)
class Cost:
    """What went out, without deposits, in the smallest coin; None where there is nobody or nothing to divide by."""

    per_household: int | None  # with a drop-off in the span
    per_100_kg: int | None  # of scraps kept out of the bin


def cost(money: MoneyMonth, figures: Figures) -> Cost:
    """Rounded to the nearest coin."""
    per_100_kg = _per_100_kg(money, figures)
    return Cost(
        round(money.went_out / figures.households) if figures.households else None,
        None if per_100_kg is None else round(per_100_kg),
    )


def cost_said(money: MoneyMonth, figures: Figures, building: Building) -> tuple[str, str]:
    """(for each household, for each 100 kg or 100 pounds) in the building's currency; empty where it isn't known."""
    each, per_100_kg = cost(money, figures).per_household, _per_100_kg(money, figures)
    return (
        "" if each is None else coins(each, building),
        "" if per_100_kg is None else coins(round(per_hundred(per_100_kg, building)), building),
    )


def _per_100_kg(money: MoneyMonth, figures: Figures) -> float | None:
    return money.went_out * 100_000 / figures.scraps_g if figures.scraps_g > 0 else None


def money_said(money: MoneyMonth, figures: Figures, building: Building) -> dict[str, str]:
    """The figures by name, in the building's currency; nothing before any money is written down."""
    if not money.has_rows:
        return {}
    names = ("opening", "came_in", "went_out", "closing", "owed", "deposits")
    said = {name: coins(getattr(money, name), building) for name in names}
    said["per_household"], said["per_hundred"] = cost_said(money, figures, building)
    return said
