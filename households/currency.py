"""The one currency of a building: by its time zone at first, and for good once money is written down."""

from typing import Final

from babel.numbers import get_currency_precision, get_territory_currencies

from .models import Building
from .zone_table import country_of

OTHERWISE: Final = "EUR"  # chosen: for a clock that is no country's


def default_currency(time_zone: str) -> str:
    """The ISO 4217 code that is legal tender where a clock goes by `time_zone`."""
    country = country_of(time_zone)
    found: list[str] = get_territory_currencies(country) if country else []
    return found[0] if found else OTHERWISE


def currency_of(building: Building) -> str:
    """The currency that amounts are written in: as set, else that of the country."""
    return building.currency or default_currency(building.time_zone)


def decimals_of(currency: str) -> int:
    """How many decimals the smallest coin has: 2 for EUR, 0 for JPY, 3 for KWD (ISO 4217, by CLDR)."""
    return int(get_currency_precision(currency))
