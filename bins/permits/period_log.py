"""What was recorded in a period, for a health officer: what somebody saw or measured, and when. No household, no name.

It says what stands in the record and nothing beyond: no judgement, no word that anything is safe. Free words are
left out, since people write names into them.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from django.db.models import QuerySet

from bins.models import Case, PlaceChange, Reading, Visit, WrongItem
from households.models import Building

Row = Visit | Reading | WrongItem | PlaceChange
Detail = Mapping[str, str | int | bool | None]
LONGEST = dt.timedelta(days=366)
MOST = 2000  # lines of each kind; a year of daily visits to three drums has half of that


class Kind(StrEnum):
    VISIT = "visit"
    READING = "reading"
    WRONG_ITEM = "wrong_item"
    REPORT = "report"
    ANSWERED = "answered"
    SHUT = "shut"
    OPENED = "opened"


@dataclass(frozen=True)
class Line:
    """One thing recorded. `detail`: codes and figures, worded by the reader's page."""

    at: dt.datetime
    drum: int | None
    hatch: str
    kind: Kind
    detail: Detail
    is_correction: bool = False


@dataclass(frozen=True)
class PeriodLog:
    first: dt.date
    last: dt.date
    lines: tuple[Line, ...]
    is_cut: bool  # more was recorded than is shown

    def count(self, kind: Kind) -> int:
        return sum(1 for line in self.lines if line.kind is kind and not line.is_correction)


def period_log(building: Building, first: dt.date, last: dt.date) -> PeriodLog:
    """Everything recorded from `first` to `last`, both counted, by time; six queries. ValueError past 366 days.

    A row that was taken back later stays, marked: it was recorded.
    """
    if not dt.timedelta() <= last - first < LONGEST:
        raise ValueError("a period is a day to 366 days")
    start, end = building.instant(first), building.instant(last + dt.timedelta(days=1))
    lines = [*_rows(building, start, end), *_reports(building, start, end)]
    is_cut = any(sum(line.kind is one for line in lines) > MOST for one in Kind)
    return PeriodLog(first, last, tuple(sorted(lines, key=lambda line: line.at)), is_cut)


def _rows(building: Building, start: dt.datetime, end: dt.datetime) -> Iterator[Line]:
    """Visits, readings, wrong items, and hatches shut or opened; at most one line more of each than is shown."""

    def of(model: type[Row], *parents: str) -> "QuerySet[Any]":
        rows = model.objects.within(building).filter(counts_at__gte=start, counts_at__lt=end, reverses__isnull=True)
        return rows.select_related("reversed_by", *parents).order_by("counts_at", "pk")[: MOST + 1]

    for visit in of(Visit, "drum", "turned_place"):
        hatch = visit.turned_place.letter if visit.turned_place else ""
        yield _line(visit, visit.drum.number, hatch, Kind.VISIT, {"turned": visit.turned, "trouble": visit.trouble})
    for reading in of(Reading, "visit__drum", "batch__place"):
        letter = reading.batch.place.letter if reading.batch.place else ""
        detail = {"kind": reading.kind, "value": reading.value}
        yield _line(reading, reading.visit.drum.number, letter, Kind.READING, detail)
    for item in of(WrongItem, "drum", "place"):
        detail = {"item": item.item, "taken_out": item.taken_out}
        yield _line(item, item.drum.number, item.place.letter, Kind.WRONG_ITEM, detail)
    for change in of(PlaceChange, "place__drum"):
        number = change.place.drum.number if change.place.drum else None
        yield _line(change, number, change.place.letter, Kind.SHUT if change.is_shut else Kind.OPENED, {})


def _reports(building: Building, start: dt.datetime, end: dt.datetime) -> Iterator[Line]:
    """When a neighbour's report came, and when it was first answered."""
    for kind, field in ((Kind.REPORT, "received_at"), (Kind.ANSWERED, "first_action_at")):
        cases = Case.objects.within(building).filter(**{f"{field}__gte": start, f"{field}__lt": end})
        for case in cases.select_related("drum").order_by(field, "pk")[: MOST + 1]:
            number = case.drum.number if case.drum else None
            yield Line(getattr(case, field), number, "", kind, {"kind": case.kind, "reference": case.reference})


def _line(row: Row, drum: int | None, hatch: str, kind: Kind, detail: Detail) -> Line:
    return Line(row.counts_at, drum, hatch, kind, detail, getattr(row, "reversed_by", None) is not None)
