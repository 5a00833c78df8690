"""The languages of what a building prints: one, or two side by side."""

from django.conf import settings
from django.utils.translation import get_language

from households.models import Building


def languages_of(building: Building, wished: str | None = None) -> list[str]:
    """The building's own language and its second one; `wished` for another second, empty for none."""
    codes = dict(settings.LANGUAGES)
    first = building.language if building.language in codes else get_language() or settings.LANGUAGE_CODE
    second = building.second_language if wished is None else wished
    return [first, second] if second in codes and second != first else [first]
