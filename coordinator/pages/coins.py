"""Amounts of money in the building's currency, in the reader's own way of writing."""

from decimal import Decimal

from babel.numbers import format_currency
from django.utils.translation import get_language

from households.currency import currency_of, decimals_of
from households.models import Building


def coins(number: int, building: Building) -> str:
    """Smallest coins -> "€12.40" or "12,40 €"; yen without decimals."""
    currency = currency_of(building)
    value = Decimal(number).scaleb(-decimals_of(currency))
    return format_currency(value, currency, locale=get_language() or "en")


def amount_of(number: int, building: Building) -> Decimal:
    """Smallest coins as an amount of the currency itself: 1240 -> 12.40."""
    return Decimal(number).scaleb(-decimals_of(currency_of(building)))


def plain(number: int | None, building: Building) -> str:
    """Smallest coins as one types them into a field: 1240 -> "12.40"; nothing for None."""
    return "" if number is None else str(amount_of(number, building))
