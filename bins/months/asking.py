"""Questions whose SQL is worked out once: building a query takes Django three times as long as the database needs
to answer it. Later only the building and the dates are put in.

The first time a question is built with stand-ins that no row has; where they stand in its parameters, the real values
go. Answers are plain numbers and texts, as the database gives them: ask for no instants here.
"""

import datetime as dt
from dataclasses import dataclass
from types import CodeType
from typing import Any, Protocol

from django.db import connection

from households.models import Building

from .calendar import Period, after
from .taking_part import OPPORTUNITIES, OPPORTUNITY

LOOK_BACK = dt.timedelta(days=183)


@dataclass(frozen=True)
class Asked:
    """What a question may name: a building, and the first and last instants of a period by its clock."""

    building: Building
    first_day: dt.date
    after: dt.date  # the first day that is no longer in it
    start: dt.datetime
    end: dt.datetime
    lately: dt.datetime  # the last opportunities to take part begin
    weighed_since: dt.datetime  # half a year before the end, or the whole period
    midnights: tuple[dt.datetime, ...]  # between its months: none, two or eleven

    @classmethod
    def of(cls, building: Building, period: Period) -> "Asked":
        start, end = building.instant(period.first_day), building.instant(period.after)
        return cls(
            building,
            period.first_day,
            period.after,
            start,
            end,
            end - OPPORTUNITIES * OPPORTUNITY,
            min(start, end - LOOK_BACK),
            tuple(building.instant(after(first_day)) for first_day in period.firsts[:-1]),
        )

    def values(self) -> list[Any]:
        """As the database takes them, always in the same order."""
        instants = [self.start, self.end, self.lately, self.weighed_since, *self.midnights]
        return [
            self.building.pk,
            *(connection.ops.adapt_datefield_value(day) for day in (self.first_day, self.after)),
            *(connection.ops.adapt_datetimefield_value(instant) for instant in instants),
        ]


class Question(Protocol):
    """A function that gives a queryset of values_list."""

    __code__: CodeType

    def __call__(self, asked: Asked, /) -> Any: ...


# By the code of a question and the number of midnights in it: whoever exchanges the code asks anew.
_known: dict[tuple[CodeType, int], tuple[str, tuple[Any, ...]]] = {}


def ask(question: Question, asked: Asked) -> list[tuple[Any, ...]]:
    """The rows that a question's values_list would give."""
    stand_ins = _stand_ins(len(asked.midnights))
    key = (question.__code__, len(asked.midnights))
    if key not in _known:
        _known[key] = question(stand_ins).query.sql_with_params()
    sql, params = _known[key]
    real = dict(zip(stand_ins.values(), asked.values(), strict=True))
    with connection.cursor() as cursor:
        cursor.execute(sql, [real.get(value, value) for value in params])
        found: list[tuple[Any, ...]] = cursor.fetchall()
    return found


def ask_once(question: Question, asked: Asked, *names: str) -> dict[str, int]:
    """The sums of a question that gives one row, or none where there is nothing to sum: then each is 0."""
    rows = ask(question, asked)
    return {name: int(value or 0) for name, value in zip(names, rows[0] if rows else (0,) * len(names), strict=True)}


def _stand_ins(months: int) -> Asked:
    """A building and dates that no row has."""
    instants = [dt.datetime(1901, 1, 1 + number, 5, 7, 11, tzinfo=dt.UTC) for number in range(4 + months)]
    return Asked(
        Building(pk=-1_901_010_157),
        dt.date(1901, 2, 3),
        dt.date(1901, 2, 4),
        *(instants[0], instants[1], instants[2], instants[3]),
        tuple(instants[4:]),
    )
