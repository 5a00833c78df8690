"""What is wrong, in a clause, and how sure that is."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import pgettext_lazy

from bins.models import Decision
from bins.process.causes import Cause
from bins.process.diagnosis import LIKELY_FROM, PROBABLE_FROM

# Each stands after "Most likely:", "Probably:" or "Perhaps:", and after the name of a hatch.
CAUSES: dict[Cause, Any] = {
    Cause.TOO_WET: pgettext_lazy("cause", "it is too wet"),
    Cause.NO_AIR: pgettext_lazy("cause", "too little air gets in"),
    Cause.TOO_FEW_BROWNS: pgettext_lazy("cause", "there are too few browns for the scraps"),
    Cause.TOO_MANY_BROWNS: pgettext_lazy("cause", "there are too many browns for the scraps"),
    Cause.TOO_DRY: pgettext_lazy("cause", "it is too dry"),
    Cause.TOO_LITTLE: pgettext_lazy("cause", "there is too little in it to keep warm"),
    Cause.COLD_WEATHER: pgettext_lazy("cause", "the weather is too cold for it"),
    Cause.MATTED: pgettext_lazy("cause", "it clumps together"),
    Cause.BIG_PIECES: pgettext_lazy("cause", "the pieces are too big"),
    Cause.TOO_HOT: pgettext_lazy("cause", "it is too hot"),
    Cause.BARE_SCRAPS: pgettext_lazy("cause", "fresh scraps lie open"),
    Cause.SOLDIER_FLIES: pgettext_lazy("cause", "larvae of the soldier fly are at work, and they help"),
    Cause.WAY_IN: pgettext_lazy("cause", "a rat or a mouse can get in"),
    Cause.TOO_FULL: pgettext_lazy("cause", "it is too full to tumble"),
    Cause.WORN: pgettext_lazy("cause", "a part of the drum is worn or broken"),
    Cause.SOUR_START: pgettext_lazy("cause", "it is in its sour start"),
    Cause.FED_LATE: pgettext_lazy("cause", "fresh scraps went in after it was closed"),
    Cause.TOO_EARLY: pgettext_lazy("cause", "it needs more time"),
    Cause.FINISHED: pgettext_lazy("cause", "nothing, it may be finished"),
}


def clause(code: str) -> str:
    """A stored cause as a clause."""
    return str(CAUSES[Cause(code)])


def sure(code: str, probability: float) -> str:
    """A cause with how sure it is: "Most likely: it is too wet."."""
    values = {"cause": clause(code)}
    if probability >= LIKELY_FROM:
        return _("Most likely: %(cause)s.") % values
    if probability >= PROBABLE_FROM:
        return _("Probably: %(cause)s.") % values
    return _("Perhaps: %(cause)s.") % values


def why_trouble(decision: Decision) -> str:
    """A decision about a trouble in one sentence; makes no query."""
    return sure(decision.reason, decision.figures.get("probability_percent", 0) / 100)
