"""Weights and volumes as the building counts them, with their unit, in the reader's own way of writing numbers."""

from decimal import Decimal

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from bins.models import Contribution
from households.models import Building

from ..words import pails

G_PER_LB = 453.59237  # international avoirdupois pound, exact by definition (1959)
ML_PER_GALLON = 3785.411784  # US liquid gallon, exact by definition (231 cubic inches)


def rounded(number: float, places: int) -> str:
    """A number to so many decimals, in the reader's own way of writing: 66.9 -> "67".

    `number_format` alone cuts off what is beyond: 66.9 would read 66, and 57.999... (100 times 0.58) 57.
    """
    return str(number_format(round(number, places), places))


def weight(grams: int, building: Building) -> str:
    """Grams, rounded for a sentence -> "41.2 kg" or "90.8 lb"; from a hundred up without a decimal: "258 kg"."""
    in_units = grams / G_PER_LB if building.units == Building.Units.US else grams / 1000
    shown = {"n": rounded(in_units, 0 if abs(in_units) >= 100 else 1)}
    return _("%(n)s lb") % shown if building.units == Building.Units.US else _("%(n)s kg") % shown


def about_weight(grams: int, building: Building) -> str:
    """A weight worked out roughly -> "630 kg" or "1390 lb": to the nearest ten."""
    in_units = grams / G_PER_LB if building.units == Building.Units.US else grams / 1000
    shown = {"n": number_format(round(in_units / 10) * 10, 0)}
    return _("%(n)s lb") % shown if building.units == Building.Units.US else _("%(n)s kg") % shown


def volume(millilitres: int, building: Building) -> str:
    """Millilitres -> "96 L" or "25 gal": browns are poured by the cup, so no decimals."""
    if building.units == Building.Units.US:
        return _("%(n)s gal") % {"n": rounded(millilitres / ML_PER_GALLON, 0)}
    return _("%(n)s L") % {"n": rounded(millilitres / 1000, 0)}


def density(grams: int | None, millilitres: int, building: Building) -> str:
    """What a litre weighs -> "0.74 kg/L" or "6.2 lb/gal"; empty where nothing was weighed."""
    if not grams or millilitres <= 0:
        return ""
    if building.units == Building.Units.US:
        pounds, gallons = grams / G_PER_LB, millilitres / ML_PER_GALLON
        return _("%(n)s lb/gal") % {"n": rounded(pounds / gallons, 1)}
    return _("%(n)s kg/L") % {"n": rounded(grams / millilitres, 2)}


def brought(row: Contribution, building: Building) -> str:
    """What was brought, as it was told: counted in pails or weighed."""
    if row.quarter_pails is not None:
        return pails(row.quarter_pails)
    if building.units == Building.Units.US:
        return _("%(n)s lb") % {"n": rounded(row.scraps_g / G_PER_LB, 2)}
    return _("%(n)s kg") % {"n": number_format(f"{row.scraps_g / 1000:g}")}


def amount(number: int, unit: str) -> str:
    """A ledger amount to the last gram or millilitre, as the books hold it; a bare count without a unit."""
    shown = number_format(number, 0, force_grouping=True)
    if unit == "g":
        return _("%(n)s g") % {"n": shown}
    if unit == "ml":
        return _("%(n)s L") % {"n": number_format(Decimal(number) / 1000, force_grouping=True)}
    return shown
