"""The cash list in figures: opening, in, out, closing, owed, deposits held apart. A reversal takes its row back."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from .models import Building, Money

STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)


@dataclass(frozen=True)
class MoneyMonth:
    """A span of the cash list, in the smallest coin. `closing` = `opening` + `came_in` - `went_out`, always.

    Deposits stand apart from all four: they belong to whoever gave them. What somebody paid from their own purse
    has gone out, and is `owed` until it is paid back; so `in_the_box` is what should lie there.
    """

    first_day: dt.date
    opening: int
    came_in: int
    went_out: int
    owed: int  # at the end, not yet paid back
    deposits: int  # at the end, held for others
    by_purpose: tuple[tuple[str, int, int], ...]  # purpose, in, out; without deposits
    unseen: int  # rows that wait for a second person's look
    has_rows: bool  # ever, up to the end

    @property
    def closing(self) -> int:
        return self.opening + self.came_in - self.went_out

    @property
    def in_the_box(self) -> int:
        return self.closing + self.owed + self.deposits


def money_month(building: Building, first_day: dt.date) -> MoneyMonth:
    """The calendar month that begins on `first_day`, in three queries however many rows there are."""
    return money_between(building, first_day, (first_day + dt.timedelta(days=32)).replace(day=1))


def money_between(building: Building, first_day: dt.date, until: dt.date) -> MoneyMonth:
    """From the start of `first_day` up to the start of `until`, by the building's own clock."""
    start, end = building.instant(first_day), building.instant(until)
    rows = Money.objects.within(building).filter(counts_at__lt=end)
    kept = ~Q(purpose=Money.Purpose.DEPOSIT)
    came, went = kept & Q(way=Money.Way.IN), kept & Q(way=Money.Way.OUT)
    held = Q(purpose=Money.Purpose.DEPOSIT)
    sums = rows.aggregate(
        rows=Count("pk"),
        in_before=Sum("coins", filter=came & Q(counts_at__lt=start)),
        out_before=Sum("coins", filter=went & Q(counts_at__lt=start)),
        lent=Sum("coins", filter=Q(way=Money.Way.OUT, purse=Money.Purse.OWN)),
        back=Sum("coins", filter=Q(way=Money.Way.BACK)),
        taken=Sum("coins", filter=held & Q(way=Money.Way.IN)),
        returned=Sum("coins", filter=held & Q(way=Money.Way.OUT)),
    )
    coins = {name: value or 0 for name, value in sums.items()}
    by_purpose = (
        rows.filter(kept, counts_at__gte=start)
        .order_by()
        .values("purpose")
        .annotate(came=Sum("coins", filter=came), went=Sum("coins", filter=went))
    )
    found = {one["purpose"]: (one["came"] or 0, one["went"] or 0) for one in by_purpose}
    unseen = rows.filter(STANDS, wants_approval=True, approval__isnull=True).count()
    return MoneyMonth(
        first_day=first_day,
        opening=coins["in_before"] - coins["out_before"],
        came_in=sum(came for came, _went in found.values()),
        went_out=sum(went for _came, went in found.values()),
        owed=coins["lent"] - coins["back"],
        deposits=coins["taken"] - coins["returned"],
        by_purpose=tuple((purpose, *found[purpose]) for purpose in Money.Purpose.values if any(found.get(purpose, ()))),
        unseen=unseen,
        has_rows=coins["rows"] > 0,
    )


def money_rows(building: Building, first_day: dt.date, until: dt.date) -> "QuerySet[Money]":
    """The rows of a span by time, for a list or a report: no names. `day` is that of the building's own clock."""
    rows: QuerySet[Money] = Money.objects.within(building).filter(
        counts_at__gte=building.instant(first_day), counts_at__lt=building.instant(until)
    )
    return rows.select_related("reverses", "settles").order_by("counts_at", "ledger_number")


def owed_rows(building: Building) -> "QuerySet[Any]":
    """What somebody paid from their own purse and was not paid back whole, oldest first.

    `rest`: how much of it is still owed, above 0. A payment back that was taken back adds up to nothing.
    """
    rows: QuerySet[Any] = Money.objects.within(building).filter(STANDS, way=Money.Way.OUT, purse=Money.Purse.OWN)
    rest = F("coins") - Coalesce(Sum("settled_by__coins"), 0)
    owed: QuerySet[Any] = rows.annotate(rest=rest).filter(rest__gt=0).order_by(F("counts_at"), "ledger_number")
    return owed
