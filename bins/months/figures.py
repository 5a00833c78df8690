"""The figures of a month, a quarter or a year. No data is not zero, and a lot that still works has no yield yet."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Q, QuerySet, Subquery, Sum

from bins.models import Batch, Case, Contribution, Outgoing, Share, Visit, WrongItem
from households.models import Building, DutyAssignment, Household

from .asking import Asked, ask, ask_once
from .brought import STANDS, brought
from .calendar import Period
from .spread import Spread, spread
from .work import Work, spread_of_work
from .yields import Yield, yields


@dataclass(frozen=True)
class Known:
    """One way of knowing: its grams, how many drop-offs, and whether it is withheld for the few behind it."""

    known: str
    scraps_g: int
    drop_offs: int
    is_withheld: bool


@dataclass(frozen=True)
class Figures:
    """Of one period in the building's own time zone. Amounts in grams and millilitres."""

    period: Period
    by_known: tuple[Known, ...]
    scraps_g: int  # kept out of the bin
    low_g: int
    high_g: int
    weighed_pails: int  # behind the range; 0 where the range is the one in print
    browns_ml: int
    drop_offs: int
    households: int  # with a drop-off in the period
    taking_part: int  # with one in the last three weeks of it
    living_here: int
    visits: int
    turns: int
    carers: int  # people with a visit
    yields: tuple[Yield, ...]
    still_working: int  # lots that were begun before the period's end and are not taken out
    reports: int
    wrong_items: int
    wrong_items_g: int  # of those whose weight or volume somebody wrote down as grams
    wrong_items_weighed: int
    wrong_visits: int  # visits that found a wrong item
    troubles: int
    due_tubs: int  # shares whose last day for fetching is in the period
    fetched_millionths: int  # of these
    minutes_of_each: tuple[int, ...]  # set minutes of the duties done, of each household that did some; least first
    scraps_by_month: tuple[int | None, ...]  # grams, of each month of the period; None where nothing is on record

    @property
    def first_day(self) -> dt.date:
        return self.period.first_day

    @property
    def has_data(self) -> bool:
        return bool(self.drop_offs or self.visits or self.yields or self.reports or self.wrong_items)

    @property
    def compost_ml(self) -> int:
        return sum(one.compost_ml for one in self.yields)

    @property
    def compost_by_month(self) -> tuple[int | None, ...]:
        """Millilitres. None for a month in which neither scraps nor a harvest are on record: that is not none."""
        out: dict[dt.date, int] = {}
        for one in self.yields:
            first_day = one.day.replace(day=1)
            out[first_day] = out.get(first_day, 0) + one.compost_ml
        months = zip(self.period.firsts, self.scraps_by_month, strict=True)
        return tuple(out.get(first_day, None if scraps_g is None else 0) for first_day, scraps_g in months)

    @property
    def duty_minutes(self) -> int:
        """Set minutes of the duties done, once for each who did them."""
        return sum(self.minutes_of_each)

    @property
    def work(self) -> Work | None:
        """How these minutes are spread over the households; None where no duty is on record as done."""
        return spread_of_work(self.minutes_of_each)

    @property
    def compost_ml_per_kg(self) -> int | None:
        """Of all lots taken out that have scraps on record."""
        told = [one for one in self.yields if one.scraps_g]
        grams = sum(one.scraps_g for one in told)
        return round(sum(one.compost_ml for one in told) * 1000 / grams) if grams else None

    @property
    def shrunk_percent(self) -> int | None:
        """By volume, of the lots of which it can be said."""
        told = [one for one in self.yields if one.shrunk_percent is not None]
        went_in = sum(one.in_ml for one in told)
        return round(100 * (1 - sum(one.compost_ml for one in told) / went_in)) if went_in else None

    @property
    def collected_percent(self) -> int | None:
        """None where nothing was to be fetched."""
        return round(self.fetched_millionths / (self.due_tubs * 10_000)) if self.due_tubs else None

    @property
    def wrong_visits_percent(self) -> int | None:
        """Of the visits, each of which looks. None without a visit."""
        return round(100 * self.wrong_visits / self.visits) if self.visits else None

    @property
    def wrong_g_per_100_kg(self) -> int | None:
        """None where nothing was weighed, neither wrong items nor scraps: an unweighed item is not weightless."""
        if not self.scraps_g or self.wrong_items_weighed < self.wrong_items or not self.visits:
            return None
        return round(self.wrong_items_g * 100_000 / self.scraps_g)

    @property
    def hours_per_100_kg(self) -> float | None:
        """None where no duty is on record as done, or no scraps are."""
        if not self.duty_minutes or self.scraps_g <= 0:
            return None
        return self.duty_minutes / 60 / (self.scraps_g / 100_000)

    def percent(self, known: Known) -> int:
        return round(100 * known.scraps_g / self.scraps_g) if self.scraps_g else 0

    def as_stored(self) -> dict[str, int]:
        """The figures that a closed month is remembered by."""
        names = ("scraps_g", "browns_ml", "drop_offs", "households", "visits", "turns", "compost_ml", "reports")
        return {name: int(getattr(self, name)) for name in names}


def month(building: Building, first_day: dt.date) -> Figures:
    """The month beginning on `first_day`."""
    return figures(building, Period(first_day))


def figures(building: Building, period: Period) -> Figures:
    """A month, a quarter or a year, in eleven queries at most, whatever its size."""
    asked = Asked.of(building, period)
    came = brought(building, period)
    low_g, high_g, basis = _range(_pooled(came.grams, came.hidden), spread(asked))
    visits = ask_once(_visits, asked, "visits", "turns", "troubles", "wrong_visits", "carers")
    counts = ask_once(_counts, asked, *COUNTS)
    visits["wrong_visits"] += counts.pop("beside")
    return Figures(
        period=period,
        by_known=tuple(
            Known(known, came.grams[known], came.times[known], known in came.hidden)
            for known in Contribution.Known.values
            if came.times.get(known)
        ),
        scraps_g=sum(came.grams.values()),
        low_g=low_g,
        high_g=high_g,
        weighed_pails=basis,
        browns_ml=came.browns_ml,
        drop_offs=sum(came.times.values()),
        households=came.households,
        taking_part=came.taking_part,
        yields=yields(building, period),
        minutes_of_each=tuple(sorted(minutes for _household, minutes in ask(_done, asked))),
        scraps_by_month=tuple(came.grams_by_month.get(number) for number in range(period.months)),
        **counts,
        **visits,
    )


def hidden_kinds(building: Building, first_day: dt.date) -> frozenset[str]:
    """The ways of knowing whose lines are withheld in that month."""
    return brought(building, Period(first_day)).hidden


def _visits(asked: Asked) -> Any:
    return (
        Visit.objects.within(asked.building)
        .filter(STANDS, counts_at__gte=asked.start, counts_at__lt=asked.end)
        .order_by()
        .values("building")
        .annotate(
            visits=Count("pk"),
            turns=Count("pk", filter=Q(turned=True)),
            troubles=Count("pk", filter=~Q(trouble=Visit.Trouble.NOTHING)),
            wrong_visits=Count("pk", filter=Q(trouble=Visit.Trouble.WRONG_ITEM)),
            carers=Count("attribution__person", distinct=True),
        )
        .values_list("visits", "turns", "troubles", "wrong_visits", "carers")
    )


def _done(asked: Asked) -> Any:
    """The households that did duties, each with its set minutes."""
    return (
        DutyAssignment.objects.within(asked.building)
        .filter(duty__done_at__isnull=False, duty__day__gte=asked.first_day, duty__day__lt=asked.after)
        .order_by()
        .values("household")
        .annotate(minutes=Sum("duty__minutes"))
        .values_list("household", "minutes")
    )


# `beside`: visits that named a wrong item and had something else to say: they count as well, once.
COUNTS = (
    "living_here",
    "still_working",
    "reports",
    "due_tubs",
    "fetched_millionths",
    "wrong_items",
    "wrong_items_weighed",
    "wrong_items_g",
    "beside",
)


def _counts(asked: Asked) -> Any:
    """Single numbers, each a sub-query of one query."""
    building = asked.building
    here = Household.objects.within(building).filter(joined_on__lt=asked.after)
    begun = Batch.objects.within(building).filter(opened_at__lt=asked.end)
    told = Case.objects.within(building).filter(received_at__gte=asked.start, received_at__lt=asked.end)
    over = {"pick_up_until__gte": asked.first_day, "pick_up_until__lt": asked.after}
    due = Share.objects.within(building).filter(**{f"split__{name}": day for name, day in over.items()})
    gone = Outgoing.objects.within(building).filter(kind=Outgoing.Kind.GIVEN)
    gone = gone.filter(**{f"share__split__{name}": day for name, day in over.items()})
    wrong = WrongItem.objects.within(building).filter(STANDS, counts_at__gte=asked.start, counts_at__lt=asked.end)
    beside = wrong.filter(visit__isnull=False).exclude(visit__trouble=Visit.Trouble.WRONG_ITEM)
    return Building.objects.filter(pk=building.pk).values_list(
        _single(here.filter(Q(left_on__isnull=True) | Q(left_on__gte=asked.after)), Count("pk")),
        _single(begun.filter(Q(ended_at__isnull=True) | Q(ended_at__gte=asked.end)), Count("pk")),
        _single(told, Count("pk")),
        _single(due, Sum("tubs")),
        _single(gone, Sum("millionths")),
        _single(wrong, Count("pk")),
        _single(wrong, Count("grams")),
        _single(wrong, Sum("grams")),
        _single(beside, Count("visit", distinct=True)),
    )


def _single(rows: "QuerySet[Any, Any]", of: Any) -> Subquery:
    return Subquery(rows.order_by().values("building").annotate(single=of).values("single"))


def _pooled(grams: dict[str, int], hidden: frozenset[str]) -> dict[str, int]:
    """Grams with the withheld lines put together under the least certain of them.

    Total and range would otherwise be two equations for two withheld lines: anybody could solve them.
    """
    least_certain = next((known for known in ("guessed", "counted", "weighed") if known in hidden), None)
    if least_certain is None:
        return grams
    apart = {known: amount for known, amount in grams.items() if known not in hidden}
    return apart | {least_certain: sum(grams.get(known, 0) for known in hidden)}


def _range(grams: dict[str, int], about: Spread) -> tuple[int, int, int]:
    """(low, high, weighed pails behind it): what was weighed is certain, the rest is not."""
    counted, guessed = grams.get("counted", 0), grams.get("guessed", 0)
    sure = grams.get("weighed", 0)
    wide = about.guessed()
    low = sure + counted * about.low + guessed * wide.low
    high = sure + counted * about.high + guessed * wide.high
    return round(low), round(high), about.weighed
