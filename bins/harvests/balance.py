"""Where a harvest stands: given + for the beds + not fetched + lost + waiting = harvested, always."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Sum

from bins.models import Harvest, Outgoing
from households.models import Building


@dataclass(frozen=True)
class Balance:
    """Millionths of a tub, each 0 or more."""

    harvested: int
    given: int = 0
    reserve: int = 0
    unclaimed: int = 0
    lost: int = 0

    @property
    def waiting(self) -> int:
        """What is there still: measured, and written down as nothing else yet."""
        return self.harvested - self.given - self.reserve - self.unclaimed - self.lost


def balances(building: Building, harvests: Iterable[Harvest]) -> dict[int, Balance]:
    """The balance of each harvest, by its key; one query however many there are."""
    harvests = list(harvests)
    sums: dict[int, dict[str, int]] = {harvest.pk: {} for harvest in harvests}
    rows = Outgoing.objects.within(building).filter(harvest__in=harvests).order_by()
    for row in rows.values("harvest_id", "kind").annotate(amount=Sum("millionths")):
        sums[row["harvest_id"]][row["kind"]] = row["amount"]
    return {harvest.pk: Balance(harvest.millionths, **sums[harvest.pk]) for harvest in harvests}


def balance(building: Building, harvest: Harvest) -> Balance:
    return balances(building, [harvest])[harvest.pk]


def gone(building: Building, harvest: Harvest) -> int:
    """Millionths that are not there any more, wherever they went."""
    now = balance(building, harvest)
    return now.harvested - now.waiting
