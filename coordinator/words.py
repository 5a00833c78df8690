"""Reason codes and figures -> sentences in the reader's language. One table holds trade word and plain word."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext_lazy

from bins.models import Decision
from bins.process.proposal import Reason

# Stage of a batch, or of a hatch without one -> the word on the page.
STAGES: dict[str, Any] = {
    "filling": gettext_lazy("open"),
    "composting": gettext_lazy("working, do not add"),
    "curing": gettext_lazy("resting, do not add"),
    "ready": gettext_lazy("finished"),
    "harvested": gettext_lazy("taken out"),
    "discarded": gettext_lazy("thrown out"),
    "empty": pgettext_lazy("hatch", "empty"),
    "quarantined": gettext_lazy("shut for now"),
}

SHAPES: dict[str, Any] = {"circle": gettext_lazy("the circle"), "square": gettext_lazy("the square")}

LEVELS: dict[str, Any] = {
    "empty": gettext_lazy("nearly empty"),
    "quarter": gettext_lazy("a quarter"),
    "half": gettext_lazy("half"),
    "three_quarters": gettext_lazy("three quarters"),
    "full": gettext_lazy("full"),
}

KNOWN: dict[str, Any] = {
    "weighed": gettext_lazy("weighed"),
    "counted": gettext_lazy("counted pails"),
    "guessed": gettext_lazy("guessed"),
}


def why(decision: Decision) -> str:
    """The reason of a decision with its figures, as one or two short sentences."""
    figures = {name: _plain(value) for name, value in decision.figures.items()}
    return str(_REASONS[Reason(decision.reason)]) % figures


def _plain(value: float) -> str:
    return f"{value:g}"


_REASONS: dict[Reason, Any] = {
    Reason.LEVEL_AT_MARK: gettext_lazy(
        "It was %(level_percent)s %% full after a turn and again at the next visit; it closes at "
        "%(close_mark_percent)s %%, since a tumbler needs head room."
    ),
    Reason.NO_EMPTY_PLACE: gettext_lazy(
        "It is %(level_percent)s %% full and no other hatch is empty. It closes at %(close_mark_percent)s %%."
    ),
}


def pails(quarters: int | None) -> str:
    """A count of quarter pails in words: 4 -> one pail, 6 -> 1.5 pails."""
    if quarters is None:
        return ""
    whole, rest = divmod(abs(quarters), 4)
    if rest == 0:
        return ngettext("%(n)s pail", "%(n)s pails", whole) % {"n": whole}
    fraction = {1: "¼", 2: "½", 3: "¾"}[rest]
    return _("%(n)s pails") % {"n": f"{whole or ''}{fraction}"} if whole else _("%(n)s of a pail") % {"n": fraction}
