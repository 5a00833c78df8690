"""Where a harvest stands: given + for the beds + given away + not fetched + lost + waiting = harvested, always."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, Sum

from bins.models import Batch, Harvest, HarvestPart, Outgoing
from households.models import Building


@dataclass(frozen=True)
class Balance:
    """Millionths of a tub, each 0 or more."""

    harvested: int
    given: int = 0
    reserve: int = 0
    unclaimed: int = 0
    lost: int = 0
    gift: int = 0

    @property
    def waiting(self) -> int:
        """What is there still: measured, and written down as nothing else yet."""
        return self.harvested - self.given - self.reserve - self.unclaimed - self.lost - self.gift


@dataclass(frozen=True)
class CameOut:
    """A harvest with the parts that were measured by themselves. Millionths are of the harvest's own tub."""

    millionths: int
    millilitres: int
    weighed_g: int | None  # None where a part of it wasn't weighed
    parts: int
    by_one_tub: bool  # some of the weight was worked out from one full tub


def came_out(building: Building, harvests: Iterable[Harvest]) -> dict[int, CameOut]:
    """What came out in all, by the harvest's key; two queries at most, however many there are."""
    harvests = list(harvests)
    parts = parts_of_lots(building, {harvest.batch_id for harvest in harvests})
    found = {}
    for harvest in harvests:
        mine = parts[harvest.batch_id]
        # In ml and millionths at once, so that parts in the same tub add up to the last millionth.
        in_ml = sum(part.millionths * part.tub_ml for part in mine)
        rows: list[Harvest | HarvestPart] = [harvest, *mine]
        weighed = [row.weighed_g for row in rows if row.millionths]
        found[harvest.pk] = CameOut(
            millionths=harvest.millionths + in_ml // harvest.tub_ml,
            millilitres=harvest.millilitres + sum(part.millilitres for part in mine),
            weighed_g=None if None in weighed else sum(grams or 0 for grams in weighed),
            parts=len(mine),
            by_one_tub=any(row.by_one_tub for row in rows),
        )
    return found


def parts_of_lots(building: Building, batches: set[int], *, taken_back: bool = False) -> dict[int, list[HarvestPart]]:
    """The parts that stand of each batch and of all that were put together with it; mostly one query.

    `taken_back`: those too that were taken back, with the rows that did so; the sum is the same.
    """
    found_rows = HarvestPart.objects.within(building).filter(Q(batch__in=batches) | Q(batch__merged_into__isnull=False))
    if not taken_back:
        found_rows = found_rows.filter(reverses__isnull=True, reversed_by__isnull=True)
    rows = list(found_rows.order_by("ledger_number"))
    into: dict[int, int] = {}
    if any(row.batch_id not in batches for row in rows):
        merged = Batch.objects.within(building).filter(merged_into__isnull=False)
        into = dict(merged.values_list("pk", "merged_into"))
    found: defaultdict[int, list[HarvestPart]] = defaultdict(list)
    for row in rows:
        last = row.batch_id
        while last in into:
            last = into[last]
        found[last].append(row)
    return found


def balances(building: Building, harvests: Iterable[Harvest]) -> dict[int, Balance]:
    """The balance of each harvest, by its key; three queries at most, however many there are."""
    harvests = list(harvests)
    out = came_out(building, harvests)
    sums: dict[int, dict[str, int]] = {harvest.pk: {} for harvest in harvests}
    rows = Outgoing.objects.within(building).filter(harvest__in=harvests).order_by()
    for row in rows.values("harvest_id", "kind").annotate(amount=Sum("millionths")):
        sums[row["harvest_id"]][row["kind"]] = row["amount"]
    return {harvest.pk: Balance(out[harvest.pk].millionths, **sums[harvest.pk]) for harvest in harvests}


def balance(building: Building, harvest: Harvest) -> Balance:
    return balances(building, [harvest])[harvest.pk]


def gone(building: Building, harvest: Harvest) -> int:
    """Millionths that are not there any more, wherever they went."""
    now = balance(building, harvest)
    return now.harvested - now.waiting
