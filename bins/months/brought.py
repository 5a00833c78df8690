"""What came in during a period: one query, grouped by household and way of knowing, summed here.

Grouped by household because each figure counts households otherwise: with a drop-off, in the last weeks, behind a line.
"""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.db.models import Case, Count, IntegerField, Q, Sum, Value, When

from bins.models import Contribution
from households.models import Building

from .asking import Asked, ask
from .calendar import Period
from .withheld import withheld

STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)


@dataclass(frozen=True)
class Brought:
    """By way of knowing: grams, and drop-offs that stand. A reversed row adds nothing and counts as none."""

    grams: dict[str, int]
    times: dict[str, int]
    browns_ml: int
    households: int
    taking_part: int
    hidden: frozenset[str]  # ways of knowing whose lines are withheld
    grams_by_month: dict[int, int]  # by its number in the period; none for a month in which nothing is on record


def brought(building: Building, period: Period) -> Brought:
    """Everything that was brought in the period.

    A line is withheld for a quarter or a year if any of its months withholds it: the months that show it would else
    leave the one that doesn't as the difference.
    """
    grams: defaultdict[str, int] = defaultdict(int)
    times: defaultdict[str, int] = defaultdict(int)
    behind: defaultdict[int, defaultdict[str, set[int]]] = defaultdict(lambda: defaultdict(set))
    by_month: defaultdict[int, int] = defaultdict(int)
    stand: set[int] = set()  # months in which a drop-off does
    browns_ml, came, part = 0, set(), set()
    for row in ask(_grouped, Asked.of(building, period)):
        known, household, month, row_grams, row_browns, row_times, row_lately = row
        grams[known] += row_grams
        times[known] += row_times
        by_month[month] += row_grams
        if row_times:
            stand.add(month)
        browns_ml += row_browns
        if household is not None and row_times:
            came.add(household)
            behind[month][known].add(household)
            if row_lately:
                part.add(household)
    hidden = [withheld(lines) for lines in behind.values()]
    told = {month: sum_g for month, sum_g in by_month.items() if month in stand or sum_g}
    return Brought(dict(grams), dict(times), browns_ml, len(came), len(part), frozenset().union(*hidden), told)


def _grouped(asked: Asked) -> Any:
    of = {"counts_at__gte": asked.start, "counts_at__lt": asked.end}
    return (
        Contribution.objects.within(asked.building)
        .filter(**of)
        .annotate(month=_month(asked))
        .order_by()
        .values_list("known", "attribution__household", "month")
        .annotate(
            grams=Sum("scraps_g"),
            browns=Sum("browns_ml"),
            times=Count("pk", filter=STANDS),
            lately=Count("pk", filter=STANDS & Q(counts_at__gte=asked.lately)),
        )
    )


def _month(asked: Asked) -> Any:
    """The number of the month in its period, by the building's own midnights."""
    if not asked.midnights:
        return Value(0)
    whens = [When(counts_at__lt=midnight, then=Value(number)) for number, midnight in enumerate(asked.midnights)]
    return Case(*whens, default=Value(len(whens)), output_field=IntegerField())
