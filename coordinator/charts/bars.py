"""Bars: how much in each month, in panels over one axis of months; and one bar in parts, for how work was spread.

A month without a value keeps its place with a word in it: no record is not zero.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

from django.template.loader import render_to_string
from django.utils.formats import number_format
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language_bidi

from .scale import WIDTH, Scale, Tick, across, number_ticks

EDGE, HEAD, PLOT, BETWEEN, FOOT = 6, 34, 76, 16, 24  # a panel is its head, with title and room for a number, and plot
LETTER, DIGIT = 6, 7  # the usual width of a letter, and that of a digit, in the drawing's units
SHARE = 0.64  # of a month's place that its bar takes
LEAST_TOP = 4  # the axis of what is almost nothing still has numbers to go by
BAR_TOP, BAR, FINEST = 24, 40, 5  # the bar in parts; parts finer than that are not parted by lines
FILLS: Final = ("dots", "solid")  # of the panels, in turn: as scraps and finished compost are drawn in a drum
_ID: Final = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True)
class Bar:
    """A value in the panel's unit and the number to write over it. What is below nothing has a number but no bar."""

    value: float
    label: str


@dataclass(frozen=True)
class Panel:
    """One measure with the unit in its title; for each month a bar, or the word that stands for there being none."""

    title: str
    months: Sequence[Bar | str]


@dataclass(frozen=True)
class Part:
    """Some of the households: how many, and the words beside them."""

    count: int
    words: str


def panels(prefix: str, title: str, answer: str, names: Sequence[str], shown: Sequence[Panel]) -> SafeString:
    """Panels one below the other, each with its own scale from nothing up. `names`: the months, short.

    ValueError without a month, or where a panel has more or fewer than there are names.
    """
    if not names or any(len(panel.months) != len(names) for panel in shown):
        raise ValueError("each panel has a bar or a word for each month")
    tops = [_top(panel) for panel in shown]
    ticks = [
        [(number, number_format(number, 0, force_grouping=True)) for number in number_ticks(0, top, 3)] for top in tops
    ]
    gutter = 12 + DIGIT * max(len(label) for panel in ticks for _, label in panel)
    months = across(0, len(names), gutter, WIDTH - EDGE)
    slot = (WIDTH - EDGE - gutter) / len(names)
    drawn = []
    for at, (panel, top, numbers) in enumerate(zip(shown, tops, ticks, strict=True)):
        begin = at * (HEAD + PLOT + BETWEEN) + HEAD
        up = Scale(0, top, begin + PLOT, begin)
        fits = all(len(one.label) * DIGIT <= slot for one in panel.months if isinstance(one, Bar))
        drawn.append(
            {
                "title": panel.title,
                "title_y": begin - 20,
                "top": begin,
                "floor": begin + PLOT,
                "height": PLOT,
                "fill": FILLS[at % len(FILLS)],
                "ticks": [Tick(up.at(number), label) for number, label in numbers],
                "bars": list(_bars(panel, months, up, slot, fits=fits)),
                "gaps": list(_gaps(panel, months, slot)),
            }
        )
    floor = len(shown) * (HEAD + PLOT + BETWEEN) - BETWEEN
    bidi = get_language_bidi()
    return _draw(
        "charts/bars.svg",
        prefix,
        title=title,
        answer=answer,
        height=floor + FOOT,
        panels=drawn,
        names_y=floor + 16,
        names=[Tick(months.at(at + 0.5), names[at]) for at in _written(names, slot)],
        middle_y=PLOT / 2,
        axis=months.at(0),
        far=months.at(len(names)),
        # The sides of the page, not those of the text: what makes PDFs knows no direction.
        begins="end" if bidi else "start",
        ends="start" if bidi else "end",
        label_x=months.at(0) + (6 if bidi else -6),
    )


def parts(prefix: str, title: str, answer: str, first: Part, rest: Part, even: str) -> SafeString:
    """A bar of as many equal parts as there are households; the first of them are marked.

    A line in the middle, with the words `even`: where they would end if every household had done the same. ValueError
    of nobody.
    """
    every = first.count + rest.count
    if min(first.count, rest.count) < 0 or not every:
        raise ValueError("a bar in parts has parts")
    along = across(0, every, EDGE, WIDTH - EDGE)
    is_fine = (WIDTH - 2 * EDGE) / every < FINEST
    marked, plain = _span(along, 0, first.count), _span(along, first.count, every)
    bidi = get_language_bidi()
    return _draw(
        "charts/parts.svg",
        prefix,
        title=title,
        answer=answer,
        height=BAR_TOP + BAR + 46,
        first=first.words,
        rest=rest.words,
        even=even,
        top=BAR_TOP,
        bar=BAR,
        floor=BAR_TOP + BAR,
        marked=marked,
        plain=plain,
        cuts=[] if is_fine else [along.at(at) for at in range(1, every) if at != first.count],
        middle=along.at(every / 2),
        begin=along.at(0),
        far=along.at(every),
        begins="end" if bidi else "start",
        ends="start" if bidi else "end",
    )


def _top(panel: Panel) -> float:
    return max(LEAST_TOP, *(one.value for one in panel.months if isinstance(one, Bar)), 0)


def _span(scale: Scale, low: float, high: float) -> dict[str, float]:
    one, other = scale.at(low), scale.at(high)
    return {"x": min(one, other), "width": round(abs(other - one), 1)}


def _bars(panel: Panel, months: Scale, up: Scale, slot: float, *, fits: bool) -> Iterator[dict[str, Any]]:
    for at, one in enumerate(panel.months):
        if isinstance(one, Bar):
            y = up.at(one.value)
            is_flat = one.value <= 0  # nothing to see of it: its number says so
            yield _span(months, at + (1 - SHARE) / 2, at + (1 + SHARE) / 2) | {
                "y": y,
                "height": round(up.start - y, 1),
                "middle": months.at(at + 0.5),
                "value": one.value,
                "label": one.label if fits or is_flat else "",
            }


def _gaps(panel: Panel, months: Scale, slot: float) -> Iterator[dict[str, Any]]:
    """Months side by side with the same word have it once; where it is too long for them it stands upright."""
    for word, run in groupby(enumerate(panel.months), key=lambda one: one[1] if isinstance(one[1], str) else ""):
        if word:
            found = [at for at, _ in run]
            yield _span(months, found[0] + 0.08, found[-1] + 0.92) | {
                "word": word,
                "middle": months.at((found[0] + found[-1] + 1) / 2),
                "is_upright": len(word) * LETTER > slot * len(found) - 6,
            }


def _written(names: Sequence[str], slot: float) -> range:
    """Every month where the names have room, or every second, third, sixth."""
    longest = max(map(len, names)) * LETTER
    step = next((step for step in (1, 2, 3, 6) if longest <= slot * step), len(names))
    return range(0, len(names), step)


def _draw(template: str, prefix: str, **values: Any) -> SafeString:
    if not _ID.fullmatch(prefix):
        raise ValueError(f"a prefix is letters, digits, _ and - only, not {prefix!r}")
    common = {"prefix": prefix, "width": WIDTH, "direction": "rtl" if get_language_bidi() else "ltr"}
    svg = render_to_string(template, common | values)
    return mark_safe(svg)  # noqa: S308 - rendered by a template that escapes every value
