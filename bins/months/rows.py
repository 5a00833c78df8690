"""The rows behind a figure: day, amount, how known, how it came. No household, and in no order within a day."""

import datetime as dt
import hashlib
from collections import defaultdict
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, QuerySet, Sum
from django.db.models.functions import TruncDate

from bins.harvests.balance import parts_of_lots
from bins.models import Contribution, Harvest, HarvestPart, Visit
from households.models import Building

from .brought import STANDS
from .calendar import after, span
from .figures import hidden_kinds
from .withheld import FEWEST, withheld


@dataclass(frozen=True)
class Row:
    """One ledger row as others may see it; a correction takes back what it corrects (a negative amount).

    With `until`: rows of the lines that the month withholds, put together from `day` to `until`. One by one their
    amounts would tell which of them were weighed.
    """

    day: dt.date
    amount: int
    known: str
    via: str
    is_correction: bool
    until: dt.date | None = None


@dataclass(frozen=True)
class Page:
    """Whole days of rows. `next_day`: where the next page begins; None on the last."""

    rows: tuple[Row, ...]
    total: int  # of the whole month
    next_day: dt.date | None


@dataclass(frozen=True)
class Hidden:
    """What the rows of a month may not say: ways of knowing, and of each other one the ways it came."""

    kinds: frozenset[str]
    ways: dict[str, frozenset[str]]


FIGURES = {"scraps": "g", "browns": "ml", "visits": "", "compost": "ml"}
WITHHELD = "withheld"  # in the place of `known` or `via`
PAGE = 200  # a page is full with the day that reaches it
COUNTED = Contribution.Known.COUNTED.value


def rows(building: Building, first_day: dt.date, figure: str) -> list[Row]:
    """All rows of a figure, by day. KeyError for a figure that has none.

    Within a day the order is that of a hash: who came before whom is nobody's business.
    """
    return list(rows_page(building, first_day, figure, most=None).rows)


def rows_page(
    building: Building, first_day: dt.date, figure: str, since: dt.date | None = None, most: int | None = PAGE
) -> Page:
    """The rows from a day of the month on, up to the end of the day that brings `most` of them; None: all.

    Six queries at most, however many rows there are; seven for compost. KeyError for a figure that has none.
    """
    unit = FIGURES[figure]
    if figure == "compost":
        return _compost(building, first_day)
    model, amount = (Contribution, f"{figure}_{unit}") if unit else (Visit, "")
    found = model.objects.within(building).filter(span(building, first_day))
    hidden = _hidden(building, first_day, found, figure) if amount else Hidden(frozenset(), {})
    pools: list[Row] = []
    if amount:
        total = found.aggregate(sum=Sum(amount))["sum"] or 0
        if hidden.kinds:
            pools = _pools(building, found.filter(known__in=hidden.kinds))
            found = found.exclude(known__in=hidden.kinds)
        found = found.exclude(**{amount: 0})
    else:
        total = found.filter(reverses__isnull=True).count() - found.filter(reverses__isnull=False).count()
    begin, end = max(first_day, since or first_day), after(first_day)
    stop = None if most is None else _stop(building, found, begin, most)
    within = {"counts_at__gte": building.instant(begin), "counts_at__lt": building.instant(stop or end)}
    told = [_told(building, row, figure, hidden) for row in found.filter(**within)]
    told += [("", pool) for pool in pools if begin <= pool.day < (stop or end)]
    return Page(tuple(row for _, row in sorted(told, key=lambda one: (one[1].day, one[0]))), total, stop)


def _pools(building: Building, found: "QuerySet[Any]") -> list[Row]:
    """Withheld rows put together over as many days as it takes until five households stand behind them.

    What is too little for a pool of its own goes with the last one.
    """
    grams: defaultdict[dt.date, int] = defaultdict(int)
    behind: defaultdict[dt.date, set[int]] = defaultdict(set)
    told = found.order_by().values_list("counts_at", "scraps_g", "attribution__household", "reverses", "reversed_by")
    for at, scraps_g, household, reverses, reversed_by in told:
        day = building.local(at).date()
        grams[day] += scraps_g
        if household is not None and reverses is None and reversed_by is None:
            behind[day].add(household)
    pools: list[list[dt.date]] = [[]]
    who: set[int] = set()
    for day in sorted(grams):
        if len(who) >= FEWEST:
            pools.append([])
            who = set()
        pools[-1].append(day)
        who |= behind[day]
    if len(who) < FEWEST and len(pools) > 1:
        pools[-2:] = [pools[-2] + pools[-1]]
    return [
        Row(days[0], sum(grams[day] for day in days), WITHHELD, WITHHELD, is_correction=False, until=days[-1])
        for days in pools
        if days
    ]


def _hidden(building: Building, first_day: dt.date, found: "QuerySet[Any]", figure: str) -> Hidden:
    """Of the browns all are counted; the ways they came are one breakdown."""
    kinds = hidden_kinds(building, first_day) if figure == "scraps" else frozenset()
    behind: defaultdict[str, defaultdict[str, set[int]]] = defaultdict(lambda: defaultdict(set))
    standing = found.filter(STANDS, attribution__household__isnull=False)
    if figure == "browns":
        standing = standing.exclude(browns_ml=0)
    for known, via, household in standing.order_by().values_list("known", "via", "attribution__household").distinct():
        behind[known if figure == "scraps" else COUNTED][via].add(household)
    return Hidden(kinds, {known: withheld(ways) for known, ways in behind.items()})


def _stop(building: Building, found: "QuerySet[Any]", begin: dt.date, most: int) -> dt.date | None:
    """The first day that is no longer on the page which begins on a day; None where it holds all that is left."""
    days = found.filter(counts_at__gte=building.instant(begin)).order_by()
    seen = 0
    counted = days.annotate(day=TruncDate("counts_at", tzinfo=building.zone)).values_list("day").annotate(n=Count("pk"))
    for day, number in sorted(counted):
        if seen >= most:
            first: dt.date = day
            return first
        seen += number
    return None


def _told(building: Building, row: Contribution | Visit, figure: str, hidden: Hidden) -> tuple[str, Row]:
    if isinstance(row, Visit):
        return _row(building, row, figure, 1 if row.reverses_id is None else -1, "", row.via)
    known = row.known if figure == "scraps" else COUNTED
    via = WITHHELD if row.via in hidden.ways.get(known, ()) else row.via
    return _row(building, row, figure, row.scraps_g if figure == "scraps" else row.browns_ml, known, via)


def _compost(building: Building, first_day: dt.date) -> Page:
    """Parts count with the harvest of their lot, in its month, and keep the day on which they were measured."""
    within = span(building, first_day)
    harvests = list(Harvest.objects.within(building).filter(within).select_related("reversed_by"))
    stand = {one.batch_id for one in harvests if one.reverses_id is None and not hasattr(one, "reversed_by")}
    parts = parts_of_lots(building, stand, taken_back=True)
    measured: list[Harvest | HarvestPart] = [*harvests, *(part for lot in stand for part in parts[lot])]
    told = [_row(building, row, "compost", row.millilitres, COUNTED, row.via) for row in measured]
    found = tuple(row for _, row in sorted(told, key=lambda one: (str(one[1].day), one[0])))
    return Page(found, sum(row.amount for row in found), None)


def _row(
    building: Building,
    row: Contribution | Visit | Harvest | HarvestPart,
    figure: str,
    amount: int,
    known: str,
    via: str,
) -> tuple[str, Row]:
    day = building.local(row.counts_at).date()
    return _shuffled(row.uid, figure), Row(day, amount, known, via, row.reverses_id is not None)


def _shuffled(uid: UUID, figure: str) -> str:
    """Another order for each figure: or the rows of one would tell what those of another withhold."""
    return hashlib.sha256(uid.bytes + figure.encode()).hexdigest()
