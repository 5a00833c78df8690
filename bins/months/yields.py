"""What came out of each lot, beside what had gone into it: compost per kilo of the same batch, and how it shrank."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Sum

from bins.harvests.balance import came_out
from bins.models import Amendment, Batch, Contribution, Harvest, Overs
from households.models import Building

from .brought import STANDS
from .calendar import Period, span


@dataclass(frozen=True)
class Yield:
    """One harvest: what came out and what had gone in, loose as it was counted. Millilitres and grams."""

    day: dt.date
    compost_ml: int
    scraps_g: int
    in_ml: int  # scraps, browns, what was added to mend the mix, bits left in another lot's sieve

    @property
    def ml_per_kg(self) -> int | None:
        """None where the lot has no scraps on record: it is from before the record."""
        return round(self.compost_ml * 1000 / self.scraps_g) if self.scraps_g else None

    @property
    def shrunk_percent(self) -> int | None:
        """How much less came out than went in. None where that can't be said: more came out than is on record."""
        if not self.scraps_g or self.compost_ml > self.in_ml:
            return None
        return round(100 * (1 - self.compost_ml / self.in_ml))


def yields(building: Building, period: Period) -> tuple[Yield, ...]:
    """Each harvest with what went into its batch and into all that were put together with it.

    What was measured in parts counts with the harvest of its lot. One query; six more at most where something was
    taken out.
    """
    within = span(building, period.first_day, period.after)
    rows = list(Harvest.objects.within(building).filter(within, STANDS).order_by("counts_at", "pk"))
    return _yields(building, rows) if rows else ()


def _yields(building: Building, rows: list[Harvest]) -> tuple[Yield, ...]:
    into = dict(Batch.objects.within(building).filter(merged_into__isnull=False).values_list("pk", "merged_into"))
    wanted = {row.batch_id for row in rows}
    parts = wanted | {part for part in into if _last(part, into) in wanted}
    grams: defaultdict[int, int] = defaultdict(int)
    volume: defaultdict[int, int] = defaultdict(int)
    came = Contribution.objects.within(building).filter(batch__in=parts).order_by().values("batch")
    for row in came.annotate(grams=Sum("scraps_g"), scraps=Sum("scraps_ml"), browns=Sum("browns_ml")):
        grams[_last(row["batch"], into)] += row["grams"]
        volume[_last(row["batch"], into)] += row["scraps"] + row["browns"]
    added = Amendment.objects.within(building).filter(batch__in=parts).exclude(material=Amendment.Material.WATER)
    for row in added.order_by().values("batch").annotate(browns=Sum("millilitres")):
        volume[_last(row["batch"], into)] += row["browns"]
    # Bits from another lot's sieve take up room, but are no new scraps.
    sieved = Overs.objects.within(building).filter(batch__in=parts).order_by().values("batch")
    for row in sieved.annotate(bits=Sum("millilitres")):
        volume[_last(row["batch"], into)] += row["bits"]
    out = came_out(building, rows)
    return tuple(
        Yield(building.local(row.counts_at).date(), out[row.pk].millilitres, grams[row.batch_id], volume[row.batch_id])
        for row in rows
    )


def _last(batch: int, into: dict[int, int]) -> int:
    while batch in into:
        batch = into[batch]
    return batch
