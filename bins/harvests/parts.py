"""A lot measured in parts, on one or several days: a row for each, and each may be taken back by a row."""

import datetime as dt
from dataclasses import asdict, dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from bins.harvests.balance import balance
from bins.harvests.harvest import parts_of, refuse_if_shared, reversed_columns, seen, standing
from bins.harvests.measured import Measured
from bins.harvests.overs import filling, put_back, take_back
from bins.models import Batch, Harvest, HarvestPart, HarvestPartAttribution
from bins.models.harvest import TUB
from bins.process.stage import Stage
from bins.records import Refused
from bins.signature import sign
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Building, Person


@dataclass(frozen=True)
class Recorded:
    row: HarvestPart
    is_new: bool


def record_part(
    *, building: Building, batch_uid: UUID, told: Measured, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Write down a part of a lot: while more is inside, or found after it was taken out. Once a uid.

    The lot stays in its place and in its stage. Raises Batch.DoesNotExist for a batch of another building,
    UidReused, and Refused where the lot was thrown out or put together with another, or is shared out already.
    """
    print_ = fingerprint(asdict(told) | {"batch": batch_uid, "via": via})
    with open_ledger(building) as ledger:
        if known := already(HarvestPart, building, told.uid, print_):
            return Recorded(known, is_new=False)
        batch = Batch.objects.within(building).select_related("drum__site", "place").get(uid=batch_uid)
        harvest = standing(building, batch)
        if told.corrects is not None:
            raise Refused({"corrects": _("A part is taken back first, then measured again.")})
        if harvest is None and not Stage(batch.stage).is_live:
            raise Refused({"batch": _("This lot has left its hatch already. Nothing was changed.")})
        if harvest is not None:
            refuse_if_shared(building, harvest)
        row = ledger.add(
            HarvestPart(
                uid=told.uid, fingerprint=print_, **asdict(times(told.happened_at or now, now)), via=via, batch=batch,
                place=harvest.place if harvest else batch.place,
                **seen(told, batch, parts_of(building, batch)),
                overs_batch=filling(building, batch) if told.overs_ml else None,
            )
        )  # fmt: skip
        sign(HarvestPartAttribution, row, person)
        put_back(ledger, row, person)
    return Recorded(row, is_new=True)


def take_part_back(*, building: Building, uid: UUID, person: Person | None, via: str, now: dt.datetime) -> HarvestPart:
    """Take a part back by a row that reverses it. Doing so twice gives the same row.

    Raises HarvestPart.DoesNotExist for any other row, and Refused where the lot is shared out, or where more of it
    is written down as gone than would be left, or nothing would.
    """
    with open_ledger(building) as ledger:
        rows = HarvestPart.objects.within(building)
        row = rows.select_related("batch").get(uid=uid, reverses__isnull=True)
        known: HarvestPart | None = rows.filter(reverses=row).first()
        if known is not None:
            return known
        harvest = standing(building, row.batch)
        if harvest is not None:
            refuse_if_shared(building, harvest)
            _refuse_if_too_little_is_left(building, harvest, row)
        reversal = ledger.add(HarvestPart(**reversed_columns(row, now), via=via))
        sign(HarvestPartAttribution, reversal, person)
        take_back(ledger, row, reversal, person)
    return reversal


def _refuse_if_too_little_is_left(building: Building, harvest: Harvest, row: HarvestPart) -> None:
    stands = balance(building, harvest)
    of_it = -(-row.millionths * row.tub_ml // harvest.tub_ml)
    if of_it > stands.waiting:
        raise Refused({"batch": _("Some of this lot is written down as gone. Take that back first.")})
    if stands.harvested - of_it < TUB // 10:
        raise Refused({"batch": _("Nothing would be left of this harvest. Measure it again instead.")})
