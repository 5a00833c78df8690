"""Litres in a template, as the building counts them."""

from django import template

from households.models import Building

from ..pages.amounts import typed_volume
from ..pages.amounts import volume as in_words

register = template.Library()


@register.filter
def volume(litres: float, building: Building) -> str:
    """20 -> "20 L" or "5 gal"."""
    return in_words(round(1000 * litres), building)


@register.filter
def typed(litres: float, building: Building) -> str:
    """20 -> "20" or "5.283": what stands in a field before anybody types."""
    return typed_volume(1000 * litres, building)
