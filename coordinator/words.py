"""Reason codes and figures -> sentences in the reader's language. One table holds trade word and plain word."""

from typing import Any

from django.utils.translation import get_language_bidi, gettext_lazy, ngettext, pgettext_lazy
from django.utils.translation import gettext as _

from bins.models import Decision
from bins.process.proposal import Reason, Rule

from .cause_words import why_trouble

# Stage of a batch, or of a hatch without one -> the word on the page.
STAGES: dict[str, Any] = {
    "filling": gettext_lazy("open"),
    "composting": gettext_lazy("working, do not add"),
    "curing": gettext_lazy("resting, do not add"),
    "ready": gettext_lazy("finished"),
    "harvested": gettext_lazy("taken out"),
    "discarded": gettext_lazy("thrown out"),
    "merged": gettext_lazy("put together with another lot"),
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


SQUEEZES: dict[str, Any] = {
    "dry": gettext_lazy("dry: it crumbles or is dusty"),
    "right": gettext_lazy("right: one or two drops"),
    "wet": gettext_lazy("wet: water runs out"),
}

# Why a visit asks for more this week.
WANTED: dict[str, Any] = {
    "temperature_after_turn": gettext_lazy(
        "Last time it was hardly warmer than the air. If it is so again after a turn, it can rest."
    ),
    "squeeze": gettext_lazy("It may soon rest, and it must not be dry then. Press a handful hard."),
    "smell": gettext_lazy("It smelt bad last time. It can rest once the bad smell is gone."),
    "maturity_test": gettext_lazy("It has nearly rested enough. One passed test shows that it is finished."),
}

# The one measurement that would decide most, as a deed, and why. %(days)s: the days by which a date could move.
MOST_TELLING: dict[str, tuple[Any, Any]] = {
    "squeeze": (
        gettext_lazy("Press a handful hard and write down what comes out."),
        gettext_lazy("Only this is missing before it may rest."),
    ),
    "smell": (
        gettext_lazy("Smell it and write down if it smells bad."),
        gettext_lazy("Only this is missing before it may rest."),
    ),
    "maturity_test": (gettext_lazy("Make a home test."), gettext_lazy("Only a passed test is missing.")),
    "temperature_after_turn": (
        gettext_lazy("Turn it, then measure inside and beside the drum."),
        gettext_lazy("If it is hardly warmer than the air again, it may rest about %(days)s days sooner."),
    ),
    "flask_test": (
        gettext_lazy("Begin a flask test."),
        gettext_lazy("Nothing else tells as much: the day it is ready may move by about %(days)s days."),
    ),
    "level": (
        gettext_lazy("Look how full it is and write it down."),
        gettext_lazy("Without two levels in four weeks nobody can tell %(days)s days ahead that it will be full."),
    ),
}

TESTS: dict[str, Any] = {
    "bag": gettext_lazy("bag test"),
    "seeds": gettext_lazy("seed test"),
    "flask": gettext_lazy("flask test"),
}


# Figures of the month, by the name they are stored under and by the name of the rows behind them.
MONTH_FIGURES: dict[str, Any] = {
    "scraps": gettext_lazy("Kitchen scraps"),
    "scraps_g": gettext_lazy("Kitchen scraps"),
    "browns": gettext_lazy("Browns"),
    "browns_ml": gettext_lazy("Browns"),
    "visits": gettext_lazy("Visits"),
    "turns": gettext_lazy("Turns"),
    "drop_offs": gettext_lazy("Drop-offs"),
    "households": gettext_lazy("Households with a drop-off"),
    "compost": gettext_lazy("Compost"),
    "compost_ml": gettext_lazy("Compost"),
    "reports": gettext_lazy("Reports by neighbours"),
}


def why(decision: Decision) -> str:
    """The reason of a decision with its figures, as one or two short sentences."""
    if decision.rule == Rule.TROUBLE:
        return why_trouble(decision)
    figures = {name: f"{value:g}" for name, value in decision.figures.items()}
    reason = Reason(decision.reason)
    # What has a figure only sometimes has a sentence without it.
    sentence = next(text for needs, text in _REASONS[reason] if needs <= figures.keys())
    return str(sentence) % figures


def _said(text: Any, *needs: str) -> tuple[frozenset[str], Any]:
    return frozenset(needs), text


_REASONS: dict[Reason, tuple[tuple[frozenset[str], Any], ...]] = {
    Reason.LEVEL_AT_MARK: (
        _said(
            gettext_lazy(
                "It was %(level_percent)s %% full after a turn and again at the next visit. It closes at "
                "%(close_mark_percent)s %%: a tumbler needs head room."
            )
        ),
    ),
    Reason.PAST_LONGEST_FILL: (
        _said(
            gettext_lazy(
                "It has been open for %(days_open)s days, it is %(level_percent)s %% full, and the other hatch is "
                "empty. After %(longest_fill_days)s days the first scraps in it want rest."
            )
        ),
    ),
    Reason.CARETAKER_CLOSES: (_said(gettext_lazy("The super says so.")),),
    Reason.NO_EMPTY_PLACE: (
        _said(
            gettext_lazy(
                "It is %(level_percent)s %% full, it closes at %(close_mark_percent)s %%, and no other hatch is empty."
            )
        ),
    ),
    Reason.CLASH_FORESEEN: (
        _said(
            gettext_lazy(
                "As it fills now, it is full in about %(days_until_mark)s days, and no other hatch is empty for "
                "about %(days_until_free)s days. Only days warmer than 10 °C are counted. Ways out: a curing bin, "
                "fewer pails, holding buckets, another drum."
            ),
            "days_until_free",
        ),
        _said(
            gettext_lazy(
                "As it fills now, it is full in about %(days_until_mark)s days, and no other hatch will be empty by "
                "then. Ways out: a curing bin, fewer pails, holding buckets, another drum."
            )
        ),
    ),
    Reason.CLASH_CURING_BIN_FREE: (
        _said(
            gettext_lazy(
                "As it fills now, it is full in about %(days_until_mark)s days, and no other hatch will be empty by "
                "then. The lot in the other hatch could rest in the curing bin, which is free."
            )
        ),
    ),
    Reason.COOLED_DOWN: (
        _said(gettext_lazy("Measured twice after a turn, it was hardly warmer than the air beside the drum.")),
    ),
    Reason.DAYS_COMPOSTED: (
        _said(
            gettext_lazy(
                "It has worked for %(days_counted)s days warmer than 10 °C (%(days_needed)s are needed), smells "
                "well and is not dry."
            )
        ),
    ),
    Reason.CURED_AND_TESTED: (
        _said(gettext_lazy("It has rested for %(days_counted)s days warmer than 10 °C and passed a test.")),
    ),
    Reason.FRESH_NOTED: (
        _said(
            gettext_lazy(
                "A little fresh food went in (%(share_percent)s %% of this lot). It will be ready about "
                "%(delay_days)s days later."
            ),
            "share_percent",
            "delay_days",
        ),
        _said(gettext_lazy("A little fresh food went in.")),
    ),
    Reason.FRESH_TOO_MUCH: (_said(gettext_lazy("Fresh food went in, more than a little: it has to work again.")),),
    Reason.FRESH_WHILE_CURING: (_said(gettext_lazy("Fresh food went in while it rested: it has to work again.")),),
    Reason.FRESH_WHILE_READY: (
        _said(gettext_lazy("Fresh food went in although it was finished. Take it out, or let it work again.")),
    ),
    Reason.WINTER_NEEDS_EMPTY_CHAMBER: (
        _said(
            gettext_lazy(
                "Winter begins in about %(days_until_winter)s days. Go into it with one empty hatch: little shrinks "
                "in the cold."
            )
        ),
    ),
}


def mixed(whole: int, fraction: str) -> str:
    """A whole and a fraction as one figure: 1 and ½ -> 1½. Held together, or a right-to-left line shows ½1."""
    if not whole:
        return fraction
    return f"\u2066{whole}{fraction}\u2069" if get_language_bidi() else f"{whole}{fraction}"


def pails(quarters: int | None) -> str:
    """A count of quarter pails in words: 4 -> one pail, 6 -> 1.5 pails."""
    if quarters is None:
        return ""
    whole, rest = divmod(abs(quarters), 4)
    if rest == 0:
        return ngettext("%(n)s pail", "%(n)s pails", whole) % {"n": whole}
    fraction = {1: "¼", 2: "½", 3: "¾"}[rest]
    return _("%(n)s pails") % {"n": mixed(whole, fraction)} if whole else _("%(n)s of a pail") % {"n": fraction}
