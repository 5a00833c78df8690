"""The figures of a month. No data is not zero, and a lot that still works has no yield yet."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Count, F, Q, QuerySet, Sum

from bins.models import Batch, Case, Contribution, Harvest, Visit, WrongItem
from households.models import Building, Household

from .calendar import after, span
from .spread import Spread, spread
from .withheld import withheld

STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)
OPPORTUNITY = dt.timedelta(days=7)  # chosen: a week; most come about once
OPPORTUNITIES = 3  # WRAP 2010, by way of LARAC: at least one drop-off in three opportunities


@dataclass(frozen=True)
class Known:
    """One way of knowing: its grams, how many drop-offs, and whether it is withheld for the few behind it."""

    known: str
    scraps_g: int
    drop_offs: int
    is_withheld: bool


@dataclass(frozen=True)
class Yield:
    """One harvest: what came out and what had gone in. Millilitres and grams."""

    day: dt.date
    compost_ml: int
    scraps_g: int

    @property
    def ml_per_kg(self) -> int | None:
        """None where the lot has no scraps on record: it is from before the record."""
        return round(self.compost_ml * 1000 / self.scraps_g) if self.scraps_g else None


@dataclass(frozen=True)
class Month:
    """A calendar month in the building's own time zone. Amounts in grams and millilitres."""

    first_day: dt.date
    by_known: tuple[Known, ...]
    scraps_g: int
    low_g: int
    high_g: int
    weighed_pails: int  # behind the range; 0 where the range is the one in print
    browns_ml: int
    drop_offs: int
    households: int  # with a drop-off in the month
    taking_part: int  # with one in the last three weeks of it
    living_here: int
    visits: int
    turns: int
    carers: int  # people with a visit
    yields: tuple[Yield, ...]
    still_working: int  # lots that were begun before the month's end and are not taken out
    reports: int
    wrong_items: int
    troubles: int

    @property
    def has_data(self) -> bool:
        return bool(self.drop_offs or self.visits or self.yields or self.reports or self.wrong_items)

    @property
    def compost_ml(self) -> int:
        return sum(one.compost_ml for one in self.yields)

    def percent(self, known: Known) -> int:
        return round(100 * known.scraps_g / self.scraps_g) if self.scraps_g else 0

    def as_stored(self) -> dict[str, int]:
        """The figures that a closed month is remembered by."""
        names = ("scraps_g", "browns_ml", "drop_offs", "households", "visits", "turns", "compost_ml", "reports")
        return {name: int(getattr(self, name)) for name in names}


def month(building: Building, first_day: dt.date) -> Month:
    """The month beginning on `first_day`, in twelve queries whatever its size.

    A reversed row adds nothing and counts as none.
    """
    within = span(building, first_day)
    end = building.instant(after(first_day))
    brought = Contribution.objects.within(building).filter(within)
    by_known = {
        row["known"]: row
        for row in brought.order_by()
        .values("known")
        .annotate(
            grams=Sum("scraps_g"),
            browns=Sum("browns_ml"),
            times=Count("pk", filter=STANDS),
            few=Count("attribution__household", filter=STANDS, distinct=True),
        )
    }
    hidden = withheld({known: row["few"] for known, row in by_known.items()})
    scraps_g = sum(row["grams"] for row in by_known.values())
    shown_apart = _pooled({known: row["grams"] for known, row in by_known.items()}, hidden)
    low_g, high_g, basis = _range(shown_apart, spread(building, end))
    visits = (
        Visit.objects.within(building)
        .filter(within, STANDS)
        .aggregate(
            visits=Count("pk"),
            turns=Count("pk", filter=Q(turned=True)),
            troubles=Count("pk", filter=~Q(trouble="nothing")),
            carers=Count("attribution__person", distinct=True),
        )
    )
    return Month(
        first_day=first_day,
        by_known=tuple(
            Known(known, by_known[known]["grams"], by_known[known]["times"], known in hidden)
            for known in Contribution.Known.values
            if known in by_known and by_known[known]["times"]
        ),
        scraps_g=scraps_g,
        low_g=low_g,
        high_g=high_g,
        weighed_pails=basis,
        browns_ml=sum(row["browns"] for row in by_known.values()),
        drop_offs=sum(row["times"] for row in by_known.values()),
        households=_households(brought),
        taking_part=_households(
            Contribution.objects.within(building).filter(
                counts_at__gte=end - OPPORTUNITIES * OPPORTUNITY, counts_at__lt=end
            )
        ),
        living_here=_living_here(building, after(first_day)),
        yields=_yields(building, Harvest.objects.within(building).filter(within, STANDS)),
        still_working=Batch.objects.within(building)
        .filter(opened_at__lt=end)
        .filter(Q(ended_at__isnull=True) | Q(ended_at__gte=end))
        .count(),
        reports=Case.objects.within(building)
        .filter(received_at__gte=building.instant(first_day), received_at__lt=end)
        .count(),
        wrong_items=WrongItem.objects.within(building).filter(within, STANDS).count(),
        **visits,
    )


def hidden_kinds(building: Building, first_day: dt.date) -> frozenset[str]:
    """The ways of knowing whose lines are withheld in that month."""
    brought = Contribution.objects.within(building).filter(span(building, first_day)).order_by().values("known")
    few = brought.annotate(few=Count("attribution__household", filter=STANDS, distinct=True))
    return withheld({row["known"]: row["few"] for row in few})


def _pooled(grams: dict[str, int], hidden: frozenset[str]) -> dict[str, int]:
    """Grams with the withheld lines put together under the least certain of them.

    Total and range would otherwise be two equations for two withheld lines: anybody could solve them.
    """
    least_certain = next((known for known in ("guessed", "counted", "weighed") if known in hidden), None)
    if least_certain is None:
        return grams
    apart = {known: amount for known, amount in grams.items() if known not in hidden}
    return apart | {least_certain: sum(grams[known] for known in hidden)}


def _range(grams: dict[str, int], about: Spread) -> tuple[int, int, int]:
    """(low, high, weighed pails behind it): what was weighed is certain, the rest is not."""
    counted, guessed = grams.get("counted", 0), grams.get("guessed", 0)
    sure = grams.get("weighed", 0)
    wide = about.guessed()
    low = sure + counted * about.low + guessed * wide.low
    high = sure + counted * about.high + guessed * wide.high
    return round(low), round(high), about.weighed


def _households(rows: "QuerySet[Contribution]") -> int:
    return rows.filter(STANDS).aggregate(n=Count("attribution__household", distinct=True))["n"] or 0


def _living_here(building: Building, day: dt.date) -> int:
    here = Household.objects.within(building).filter(joined_on__lt=day)
    return here.filter(Q(left_on__isnull=True) | Q(left_on__gte=day)).count()


def _yields(building: Building, harvests: "QuerySet[Harvest]") -> tuple[Yield, ...]:
    """Each harvest with the scraps of its batch and of all that were put together with it."""
    rows = list(harvests.order_by("counts_at", "pk"))
    into = dict(Batch.objects.within(building).filter(merged_into__isnull=False).values_list("pk", "merged_into"))
    wanted = {row.batch_id for row in rows}
    grams: defaultdict[int, int] = defaultdict(int)
    brought = Contribution.objects.within(building).filter(batch__isnull=False).order_by().values("batch")
    if wanted:
        parts = wanted | {part for part in into if _last(part, into) in wanted}
        for row in brought.filter(batch__in=parts).annotate(grams=Sum(F("scraps_g"))):
            grams[_last(row["batch"], into)] += row["grams"]
    return tuple(Yield(building.local(row.counts_at).date(), row.millilitres, grams[row.batch_id]) for row in rows)


def _last(batch: int, into: dict[int, int]) -> int:
    while batch in into:
        batch = into[batch]
    return batch
