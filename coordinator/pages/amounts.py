"""Weights and volumes as the building counts them, with their unit, in the reader's own way of writing numbers."""

from decimal import Decimal

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from bins.models import Contribution
from bins.units import G_PER_LB, G_PER_OZ, ML_PER_FL_OZ, ML_PER_GALLON
from households.models import Building

from ..words import pails


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


def ranged(grams: int, low_g: int, high_g: int, building: Building) -> str:
    """A weight with the range that it may lie in: "about 410 kg (360 kg to 460 kg)"; alone where it is certain."""
    shown = weight(grams, building)
    if low_g == high_g:
        return shown
    low, high = weight(low_g, building), weight(high_g, building)
    return _("about %(scraps)s (%(low)s to %(high)s)") % {"scraps": shown, "low": low, "high": high}


def about_weight(grams: int, building: Building) -> str:
    """A weight worked out roughly -> "630 kg" or "1390 lb": to the nearest ten."""
    in_units = grams / G_PER_LB if building.units == Building.Units.US else grams / 1000
    shown = {"n": number_format(round(in_units / 10) * 10, 0)}
    return _("%(n)s lb") % shown if building.units == Building.Units.US else _("%(n)s kg") % shown


def small_weight(grams: float, building: Building) -> str:
    """What is too little for kilos or pounds -> "120 g" or "4.2 oz"."""
    if building.units == Building.Units.US:
        return _("%(n)s oz") % {"n": rounded(grams / G_PER_OZ, 1)}
    return _("%(n)s g") % {"n": rounded(grams, 0)}


def per_hundred(rate: float, building: Building) -> float:
    """A rate for each 100 kg as the building says it: where it counts in pounds, for each 100 pounds."""
    return rate * G_PER_LB / 1000 if building.units == Building.Units.US else rate


def volume(millilitres: int, building: Building) -> str:
    """Millilitres -> "96 L" or "25 gal": browns are poured by the cup, so no decimals."""
    if building.units == Building.Units.US:
        return _("%(n)s gal") % {"n": rounded(millilitres / ML_PER_GALLON, 0)}
    return _("%(n)s L") % {"n": rounded(millilitres / 1000, 0)}


def cup(millilitres: int, building: Building) -> str:
    """A cup -> "0.8 L" or "27 fl oz"."""
    if building.units == Building.Units.US:
        return _("%(n)s fl oz") % {"n": rounded(millilitres / ML_PER_FL_OZ, 0)}
    return _("%(n)s L") % {"n": rounded(millilitres / 1000, 1)}


def exact_volume(millilitres: int, building: Building) -> str:
    """The same to the millilitre, or the thousandth of a gallon: "7.5 L", "1.981 gal"."""
    shown = {"n": typed_volume(millilitres, building)}
    return _("%(n)s gal") % shown if building.units == Building.Units.US else _("%(n)s L") % shown


def density(grams: int | None, millilitres: int, building: Building) -> str:
    """What a litre weighs -> "0.74 kg/L" or "6.2 lb/gal"; empty where nothing was weighed."""
    if not grams or millilitres <= 0:
        return ""
    if building.units == Building.Units.US:
        pounds, gallons = grams / G_PER_LB, millilitres / ML_PER_GALLON
        return _("%(n)s lb/gal") % {"n": rounded(pounds / gallons, 1)}
    return _("%(n)s kg/L") % {"n": rounded(grams / millilitres, 2)}


def yield_of(ml_per_kg: int | None, building: Building) -> str:
    """Compost for each kilo, or pound, of scraps -> "0.355 L" or "5.4 fl oz"; empty where it isn't known."""
    if ml_per_kg is None:
        return ""
    if building.units == Building.Units.US:
        return _("%(n)s fl oz") % {"n": rounded(ml_per_kg * G_PER_LB / 1000 / ML_PER_FL_OZ, 1)}
    return amount(ml_per_kg, "ml", building)


def brought(row: Contribution, building: Building) -> str:
    """What was brought, as it was told: counted in pails or weighed."""
    if row.quarter_pails is not None:
        return pails(row.quarter_pails)
    if building.units == Building.Units.US:
        return _("%(n)s lb") % {"n": rounded(row.scraps_g / G_PER_LB, 2)}
    return _("%(n)s kg") % {"n": number_format(f"{row.scraps_g / 1000:g}")}


def typed_weight(grams: int, building: Building) -> str:
    """A weight as somebody types it into a form of the building: 2404 g -> "2.404" or "5.3"."""
    if building.units == Building.Units.US:
        return _plain(grams / G_PER_LB, 2)  # finer than a gram: what was typed comes back as it was
    return _plain(grams / 1000, 3)


def typed_volume(millilitres: float, building: Building) -> str:
    """A volume as somebody types it into a form of the building, litres or gallons: 8000 mL -> "8" or "2.113"."""
    return _plain(millilitres / (ML_PER_GALLON if building.units == Building.Units.US else 1000), 3)


def typed_litres(litres: int, building: Building) -> str:
    """Whole litres as somebody types them, or gallons to a tenth: 20 L -> "20" or "5.3"."""
    if building.units == Building.Units.US:
        return _plain(1000 * litres / ML_PER_GALLON, 1)
    return str(litres)


def typed_cup(millilitres: int, building: Building) -> str:
    """A cup as somebody types it, in millilitres or fluid ounces: 1000 mL -> "1000" or "33.8"."""
    if building.units == Building.Units.US:
        return _plain(millilitres / ML_PER_FL_OZ, 1)
    return str(millilitres)


def _plain(number: float, places: int) -> str:
    """A number without idle noughts, in the reader's own way of writing."""
    return str(number_format(f"{number:.{places}f}".rstrip("0").rstrip(".")))


def in_table(grams: int, building: Building) -> str:
    """A weight under a heading that names its unit, to the gram: "220.116" kilograms; "485.27 lb"."""
    if building.units == Building.Units.US:
        return amount(grams, "g", building)
    return str(number_format(Decimal(grams) / 1000, 3, force_grouping=True))


def amount(number: int, unit: str, building: Building) -> str:
    """A ledger amount to the last gram or millilitre, as the books hold it; a bare count without a unit.

    In pounds and gallons to the hundredth, so that rows may add up to a hundredth more or less than their sum.
    """
    if building.units == Building.Units.US and unit in ("g", "ml"):
        pounds = unit == "g"
        shown = number_format(f"{number / (G_PER_LB if pounds else ML_PER_GALLON):.2f}", force_grouping=True)
        return _("%(n)s lb") % {"n": shown} if pounds else _("%(n)s gal") % {"n": shown}
    shown = number_format(number, 0, force_grouping=True)
    if unit == "g":
        return _("%(n)s g") % {"n": shown}
    if unit == "ml":
        return _("%(n)s L") % {"n": number_format(Decimal(number) / 1000, force_grouping=True)}
    return shown
