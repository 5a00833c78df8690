"""A month in figures: sums over the books, by how the amounts are known."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from bins.models import Contribution, Visit
from households.models import Building


@dataclass(frozen=True)
class Known:
    """One way of knowing: its grams and how many drop-offs."""

    known: str
    scraps_g: int
    drop_offs: int


@dataclass(frozen=True)
class Month:
    """A calendar month in the building's own time zone. Amounts in grams and millilitres."""

    first_day: dt.date
    by_known: tuple[Known, ...]
    scraps_g: int
    browns_ml: int
    drop_offs: int
    households: int
    visits: int
    turns: int

    @property
    def has_data(self) -> bool:
        return bool(self.drop_offs or self.visits)

    def percent(self, known: Known) -> int:
        return round(100 * known.scraps_g / self.scraps_g) if self.scraps_g else 0


def after(first_day: dt.date) -> dt.date:
    return (first_day + dt.timedelta(days=32)).replace(day=1)


def before(first_day: dt.date) -> dt.date:
    return (first_day - dt.timedelta(days=1)).replace(day=1)


def month(building: Building, first_day: dt.date) -> Month:
    """The month beginning on `first_day`, in three queries. A reversed drop-off adds nothing and counts as none."""
    span = Q(counts_at__gte=building.instant(first_day), counts_at__lt=building.instant(after(first_day)))
    rows = Contribution.objects.within(building).filter(span)
    stands = Q(reverses__isnull=True, reversed_by__isnull=True)
    by_known = {
        row["known"]: row
        for row in rows.values("known").annotate(
            scraps_g=Sum("scraps_g"), browns_ml=Sum("browns_ml"), drop_offs=Count("pk", filter=stands)
        )
    }
    visits = (
        Visit.objects.within(building)
        .filter(span, stands)
        .aggregate(visits=Count("pk"), turns=Count("pk", filter=Q(turned=True)))
    )
    households = rows.filter(stands).aggregate(n=Count("attribution__household", distinct=True))["n"]
    return Month(
        first_day=first_day,
        by_known=tuple(
            Known(known, by_known[known]["scraps_g"], by_known[known]["drop_offs"])
            for known in Contribution.Known.values
            if known in by_known
        ),
        scraps_g=sum(row["scraps_g"] for row in by_known.values()),
        browns_ml=sum(row["browns_ml"] for row in by_known.values()),
        drop_offs=sum(row["drop_offs"] for row in by_known.values()),
        households=households,
        visits=visits["visits"],
        turns=visits["turns"],
    )
