"""What went into a batch and is known: the sums of the books, and the mix they make."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Sum

from bins.models import Amendment, Batch, Contribution
from bins.process.materials import BROWNS_BY_CODE, KITCHEN_SCRAPS, WATER
from bins.process.mix import Portion
from households.models import Building


@dataclass(frozen=True)
class BatchMix:
    """What went into a batch and is known: millilitres and grams as the books have them."""

    scraps_g: int
    scraps_ml: int
    browns_ml: Mapping[str, int]  # by kind, what residents and corrections brought
    water_ml: int

    @property
    def is_empty(self) -> bool:
        return self.scraps_g <= 0 and self.water_ml <= 0 and not any(self.browns_ml.values())

    @property
    def litres(self) -> float:
        """Loose litres as they went in, before anything sank."""
        return (self.scraps_ml + sum(self.browns_ml.values())) / 1000

    def portions(self) -> tuple[Portion, ...]:
        found = [Portion(KITCHEN_SCRAPS, max(0, self.scraps_g) / 1000)]
        found += [
            Portion.of_litres(BROWNS_BY_CODE[kind], max(0, ml) / 1000) for kind, ml in sorted(self.browns_ml.items())
        ]
        return (*found, Portion(WATER, max(0, self.water_ml) / 1000))


def mixes(building: Building, batches: Iterable[Batch], as_of: dt.datetime | None = None) -> dict[int, BatchMix]:
    """What went into each batch, by its key; two queries however many there are. Reversals take away.

    `as_of`: only rows that count by then, for a night that is made up for.

    What was put into it out of another batch is left out: the books know what that was when it was fresh.
    """
    keys = [batch.pk for batch in batches]
    until = {} if as_of is None else {"counts_at__lte": as_of}
    scraps: defaultdict[int, list[int]] = defaultdict(lambda: [0, 0])
    browns: defaultdict[int, defaultdict[str, int]] = defaultdict(lambda: defaultdict(int))
    water: defaultdict[int, int] = defaultdict(int)
    brought = Contribution.objects.within(building).filter(batch__in=keys, **until).values("batch", "browns_kind")
    for row in brought.annotate(g=Sum("scraps_g"), ml=Sum("scraps_ml"), browns=Sum("browns_ml")).order_by():
        scraps[row["batch"]][0] += row["g"]
        scraps[row["batch"]][1] += row["ml"]
        browns[row["batch"]][row["browns_kind"]] += row["browns"]
    added = Amendment.objects.within(building).filter(batch__in=keys, **until).values("batch", "material")
    for row in added.annotate(ml=Sum("millilitres")).order_by():
        if row["material"] == Amendment.Material.WATER:
            water[row["batch"]] += row["ml"]
        else:
            browns[row["batch"]][row["material"]] += row["ml"]
    return {key: BatchMix(scraps[key][0], scraps[key][1], dict(browns[key]), water[key]) for key in keys}
