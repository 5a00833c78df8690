"""A time line: what stands in each place from today on, where that is only probable, and where two things clash."""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language_bidi

from .scale import WIDTH, Tick, across, edge_anchor, time_ticks

EDGE, TOP, ROW, BAR = 12, 8, 62, 26
PATTERNS: Final = {"filling": "dots", "composting": "slants", "curing": "strokes", "ready": "solid"}
_ID: Final = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True)
class Probably:
    """A day that is known as a range: low, middle, high."""

    low: dt.date
    mid: dt.date
    high: dt.date


@dataclass(frozen=True)
class Row:
    """One place: the stage of what stands in it, until when, and the words beside it. `until` None: no end in sight."""

    name: str
    stage: str
    until: Probably | None
    words: str


@dataclass(frozen=True)
class _Drawn:
    name: str
    words: str
    y: float
    pattern: str
    start: float
    width: float
    range_start: float
    range_width: float
    middle: float | None


def timeline(
    prefix: str, title: str, answer: str, first: dt.date, last: dt.date, rows: Sequence[Row],
    clash: tuple[dt.date, dt.date, str] | None = None,
) -> SafeString:  # fmt: skip
    """The rows from `first` to `last`. `clash`: from when to when nothing is open, and the word beside it."""
    if not _ID.fullmatch(prefix):
        raise ValueError(f"a prefix is letters, digits, _ and - only, not {prefix!r}")
    scale = across(first.toordinal(), last.toordinal(), EDGE, WIDTH - EDGE)

    def span(start: dt.date, end: dt.date) -> tuple[float, float]:
        one, other = scale.at(start.toordinal()), scale.at(end.toordinal())
        return min(one, other), round(abs(other - one), 1)

    drawn = []
    for at, row in enumerate(rows):
        start, width = span(first, row.until.mid if row.until else last)
        range_start, range_width = span(row.until.low, row.until.high) if row.until else (0.0, 0.0)
        drawn.append(
            _Drawn(
                row.name, row.words, TOP + ROW * at, PATTERNS.get(row.stage, ""), start, width, range_start,
                range_width, scale.at(row.until.mid.toordinal()) if row.until and row.until.mid < last else None,
            )
        )  # fmt: skip
    floor = TOP + ROW * len(rows) + 4
    mark = None
    if clash is not None:
        start, width = span(clash[0], clash[1])
        middle = start + width / 2
        mark = {
            "x": start,
            "width": max(width, 4),
            "height": floor - TOP,
            "label": Tick(middle, clash[2], edge_anchor(middle)),
        }
    bidi = get_language_bidi()
    svg = render_to_string(
        "charts/timeline.svg",
        {
            "prefix": prefix, "title": title, "answer": answer, "width": WIDTH, "height": floor + (62 if mark else 26),
            "rows": drawn, "bar": BAR, "floor": floor, "top": TOP, "ticks": time_ticks(scale, first, last),
            "clash": mark, "direction": "rtl" if bidi else "ltr", "begin": WIDTH - EDGE if bidi else EDGE,
            "end": EDGE if bidi else WIDTH - EDGE,
        },
    )  # fmt: skip
    return mark_safe(svg)  # noqa: S308 - rendered by a template that escapes every value
