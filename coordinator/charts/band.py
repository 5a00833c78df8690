"""A band: where something probably lies, its middle, and what was seen. Two questions use it.

`funnel` has the calendar across and, downwards, the days on which it was asked: a band that narrows. `course` has the
calendar across and a measured value upwards.
"""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language_bidi

from .scale import WIDTH, Scale, Tick, across, day_label, number_ticks, time_ticks, upright

TOP, FLOOR, EDGE, GUTTER = 14, 190, 12, 52  # the plot; the gutter holds the labels of the upright axis
HEIGHT = 222
LEAST_DAYS = 7
LONE = 7  # half the height of a band of one night
_ID: Final = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True)
class Asked:
    """What a night expected: a range of days and its middle, None for beyond what it looked at."""

    on: dt.date
    low: dt.date
    mid: dt.date | None
    high: dt.date


@dataclass(frozen=True)
class Seen:
    on: dt.date
    value: float


@dataclass(frozen=True)
class Course:
    """Daily bands from the day after `made_on`, and what was read before; `unit` stands beside the numbers."""

    made_on: dt.date
    low: Sequence[float]
    mid: Sequence[float]
    high: Sequence[float]
    seen: Sequence[Seen]
    unit: str


def funnel(prefix: str, title: str, answer: str, asked: Sequence[Asked]) -> SafeString:
    """The band of ready dates over the nights on which they were asked, the newest last. ValueError of none."""
    if not asked:
        raise ValueError("a band has at least one night")
    first, last = min(one.low for one in asked), max(one.high for one in asked)
    last = max(last, first + dt.timedelta(days=LEAST_DAYS))
    days = across(first.toordinal(), last.toordinal(), GUTTER, WIDTH - EDGE)
    nights = _nights(asked)
    lows = [(days.at(one.low.toordinal()), y) for one, y in zip(asked, nights, strict=True)]
    highs = [(days.at(one.high.toordinal()), y) for one, y in zip(asked, nights, strict=True)]
    middles = [(days.at(one.mid.toordinal()), y) for one, y in zip(asked, nights, strict=True) if one.mid is not None]
    if len(asked) == 1:
        (low, y), (high, _) = lows[0], highs[0]
        lows, highs = [(low, y - LONE), (low, y + LONE)], [(high, y - LONE), (high, y + LONE)]
        middles = [(x, y + side * LONE) for x, y in middles for side in (-1, 1)]
    labels = {0, len(asked) - 1}
    return _draw(
        prefix, title, answer,
        x_ticks=time_ticks(days, first, last),
        y_ticks=[Tick(nights[at], day_label(asked[at].on)) for at in sorted(labels)],
        area=_closed(lows, highs), middle=_line(middles), dots=[],
    )  # fmt: skip


def course(prefix: str, title: str, answer: str, told: Course) -> SafeString:
    """A measured value so far and its band ahead. ValueError where the band has no day."""
    if not told.low:
        raise ValueError("a band has at least one day")
    ahead = [told.made_on + dt.timedelta(days=at + 1) for at in range(len(told.low))]
    first = min([told.made_on, *(one.on for one in told.seen)])
    values = [*told.low, *told.high, *(one.value for one in told.seen)]
    lowest, highest = min(0, *values), max(*values, 10)
    days = across(first.toordinal(), ahead[-1].toordinal(), GUTTER, WIDTH - EDGE)
    up = Scale(lowest, highest, FLOOR, TOP)
    xs = [days.at(day.toordinal()) for day in ahead]
    return _draw(
        prefix, title, answer,
        x_ticks=time_ticks(days, first, ahead[-1]),
        y_ticks=[Tick(up.at(number), upright(f"{number} {told.unit}")) for number in number_ticks(lowest, highest)],
        area=_closed(_points(xs, told.low, up), _points(xs, told.high, up)),
        middle=_line(_points(xs, told.mid, up)),
        dots=[(days.at(one.on.toordinal()), up.at(one.value)) for one in told.seen],
    )  # fmt: skip


Points = list[tuple[float, float]]


def _nights(asked: Sequence[Asked]) -> list[float]:
    if len(asked) == 1:
        return [(TOP + FLOOR) / 2]
    down = Scale(asked[0].on.toordinal(), asked[-1].on.toordinal(), TOP + 6, FLOOR - 6)
    return [down.at(one.on.toordinal()) for one in asked]


def _points(xs: Sequence[float], values: Sequence[float], up: Scale) -> Points:
    return [(x, up.at(value)) for x, value in zip(xs, values, strict=True)]


def _line(points: Points) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points) if points else ""


def _closed(lows: Points, highs: Points) -> str:
    return f"{_line([*lows, *reversed(highs)])}Z"


def _draw(
    prefix: str, title: str, answer: str, *, x_ticks: list[Tick], y_ticks: list[Tick], area: str, middle: str,
    dots: Points,
) -> SafeString:  # fmt: skip
    if not _ID.fullmatch(prefix):
        raise ValueError(f"a prefix is letters, digits, _ and - only, not {prefix!r}")
    bidi = get_language_bidi()
    svg = render_to_string(
        "charts/band.svg",
        {
            "prefix": prefix, "title": title, "answer": answer, "width": WIDTH, "height": HEIGHT, "top": TOP,
            "floor": FLOOR, "x_ticks": x_ticks, "y_ticks": y_ticks, "area": area, "middle": middle, "dots": dots,
            "direction": "rtl" if bidi else "ltr",
            "axis": WIDTH - GUTTER if bidi else GUTTER, "far": EDGE if bidi else WIDTH - EDGE,
            "label_x": WIDTH - GUTTER + 6 if bidi else GUTTER - 6,
        },
    )  # fmt: skip
    return mark_safe(svg)  # noqa: S308 - rendered by a template that escapes every value
