"""Which households brought browns for a lot: what came into the store and says whose it was.

Browns lie in one store for all drums of a site, so what comes in is meant for the lots that are being filled just then.
While no hatch of a drum is open, it is meant for the lot that opens there next. However little it was, it is taking
part: as with a care visit, nobody is measured.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from uuid import UUID

from django.db.models import Q

from bins.models import Batch, BrownsStock
from households.models import Building

STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)


def browns_brought(building: Building, batch: Batch, lots: Iterable[Batch]) -> dict[UUID, int]:
    """Household -> millilitres, above 0, that it brought for `batch` and the lots it is made of; two queries.

    A delivery counts for a household that brought or fetched it. Lots from before the record earn nobody anything.
    """
    wanted = {lot.pk for lot in lots if not lot.from_record}
    if not wanted:
        return {}
    of_drum = list(Batch.objects.within(building).filter(drum=batch.drum_id).order_by("opened_at", "pk"))
    ends = [lot.closed_at for lot in of_drum if lot.pk in wanted]
    came = BrownsStock.objects.within(building).filter(
        STANDS, act=BrownsStock.Act.DELIVERY, site__drums=batch.drum_id, attribution__household__isnull=False
    )
    if None not in ends:
        came = came.filter(counts_at__lt=max(end for end in ends if end))
    brought: Counter[UUID] = Counter()
    for household, at, millilitres in came.values_list("attribution__household__uid", "counts_at", "millilitres"):
        lot = _meant_for(of_drum, at)
        if lot is not None and lot.pk in wanted:
            brought[household] += millilitres
    return dict(brought)


def _meant_for(lots: list[Batch], at: dt.datetime) -> Batch | None:
    """Of one drum's lots, oldest first, the one that was filling at an instant, else the next to open."""
    for lot in reversed(lots):
        if lot.opened_at <= at and (lot.closed_at is None or lot.closed_at > at):
            return lot
    return next((lot for lot in lots if lot.opened_at > at), None)
