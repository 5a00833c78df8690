"""Scales and ticks of all charts. In a language that reads from right to left time runs from right to left as well."""

import datetime as dt
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import get_language_bidi

WIDTH = 360  # of every drawing, in its own units: about the pixels of a phone
MOST_TICKS = 4
DAY_STEPS = (1, 2, 7, 14)
MONTH_STEPS = (1, 2, 3, 6)
ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Scale:
    """From values to places in the drawing. ValueError where there is no length to measure by."""

    low: float
    high: float
    start: float
    end: float

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise ValueError("a scale runs upwards")

    def at(self, value: float) -> float:
        """Where a value lies; what lies outside is put on the edge."""
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return round(self.start + share * (self.end - self.start), 1)


@dataclass(frozen=True)
class Tick:
    at: float
    label: str
    anchor: str = "middle"


def across(low: float, high: float, start: float, end: float) -> Scale:
    """A scale along the reading direction, `start` and `end` counted from where a line of text begins."""
    if get_language_bidi():
        return Scale(low, high, WIDTH - start, WIDTH - end)
    return Scale(low, high, start, end)


def number_ticks(low: float, high: float, most: int = MOST_TICKS) -> list[int]:
    """Round numbers between two values: steps of 1, 2, 5, 10, 20, 50 ..., as few as fit."""
    step, factors = 1, (2, 2.5, 2)
    for turn in range(40):
        first = -(-low // step) * step
        count = int((high - first) // step) + 1 if first <= high else 0
        if count <= most:
            return [int(first + step * at) for at in range(count)]
        step = int(step * factors[turn % 3])
    return []


def day_ticks(first: dt.date, last: dt.date, most: int = MOST_TICKS) -> list[dt.date]:
    """Days to write on an axis: every day, second day, week, fortnight, or the firsts of months."""
    days = (last - first).days
    for step in DAY_STEPS:
        if days // step + 1 <= most:
            return [first + step * at * ONE_DAY for at in range(days // step + 1)]
    firsts = [day for at in range(days + 1) if (day := first + at * ONE_DAY).day == 1]
    for step in MONTH_STEPS:
        found = [day for day in firsts if (day.month - 1) % step == 0]
        if len(found) <= most and found:
            return found
    return firsts[:: -(-len(firsts) // most)]


def day_label(day: dt.date) -> str:
    """Short, in the reader's language: "3 Jun"."""
    return date_format(day, "j M")


def upright(text: str) -> str:
    """A number with its unit, kept in its own order between words that read from right to left."""
    return f"\u2066{text}\u2069" if get_language_bidi() else text


def edge_anchor(at: float) -> str:
    """Which part of a label stands at its place, so that none runs out of the drawing."""
    if at > WIDTH - 30:
        return "start" if get_language_bidi() else "end"
    if at < 30:
        return "end" if get_language_bidi() else "start"
    return "middle"


def time_ticks(scale: Scale, first: dt.date, last: dt.date, most: int = MOST_TICKS) -> list[Tick]:
    """The days of a time scale counted in ordinals."""
    found = [(scale.at(day.toordinal()), day_label(day)) for day in day_ticks(first, last, most)]
    return [Tick(at, label, edge_anchor(at)) for at, label in found]
