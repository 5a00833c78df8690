"""The bits left in the sieve: they go back into the batch that is filling, as an addition and never as scraps.

The row says how much and out of which lot. Nobody brought it, so it gives nobody a claim and counts for no month.
"""

from uuid import uuid5

from django.db.models import Sum

from bins.models import Batch, Harvest, HarvestPart, Overs, OversAttribution
from bins.process.stage import Stage
from bins.signature import sign
from households.ledger import Ledger, fingerprint
from households.models import Building, Person


def filling(building: Building, batch: Batch) -> Batch | None:
    """The batch that takes scraps in the same drum: the sieve's rest goes back in there."""
    others = Batch.objects.within(building).filter(drum=batch.drum, stage=Stage.FILLING).exclude(pk=batch.pk)
    found: Batch | None = others.first()
    return found


def overs_of(building: Building, batch: Batch) -> int:
    """Millilitres of a sieve's bits that were put into a batch; one query."""
    return Overs.objects.within(building).filter(batch=batch).aggregate(ml=Sum("millilitres"))["ml"] or 0


def put_back(ledger: Ledger, row: Harvest | HarvestPart, person: Person | None) -> None:
    """Add what a measurement's sieve held back to the filling batch; nothing where none was filling."""
    if row.overs_ml > 0 and row.overs_batch_id is not None:
        _add(ledger, row, row.overs_batch_id, None, person)


def take_back(
    ledger: Ledger, row: Harvest | HarvestPart, reversal: Harvest | HarvestPart, person: Person | None
) -> None:
    """Reverse what `row` had put back, with the reversal of its measurement."""
    added = Overs.objects.within(ledger.building).filter(uid=uuid5(row.uid, "overs")).first()
    if added is not None:
        _add(ledger, reversal, added.batch_id, added, person)


def _add(ledger: Ledger, row: Harvest | HarvestPart, into: int, reverses: Overs | None, person: Person | None) -> None:
    added = ledger.add(
        Overs(
            uid=uuid5(row.uid, "overs"), fingerprint=fingerprint({"overs": row.uid}), happened_at=row.happened_at,
            heard_at=row.heard_at, counts_at=row.counts_at, doubt=row.doubt, via=row.via, reverses=reverses,
            batch_id=into, out_of_id=row.batch_id, millilitres=row.overs_ml,
        )
    )  # fmt: skip
    sign(OversAttribution, added, person)
