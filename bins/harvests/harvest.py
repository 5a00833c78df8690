"""What can be done with a finished lot: take it out, measure it in one tub, and put the sieve's rest back."""

import datetime as dt
from dataclasses import asdict, dataclass
from typing import Any
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.stages import go_to
from bins.decisions.night import overtake
from bins.harvests.balance import gone
from bins.harvests.measured import Measured
from bins.harvests.overs import filling, put_back, take_back
from bins.models import Batch, Decision, Harvest, HarvestAttribution, HarvestPart, Split, StageChange
from bins.process.stage import Stage
from bins.records import Refused
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Person


@dataclass(frozen=True)
class Recorded:
    row: Harvest
    is_new: bool


def standing(building: Building, batch: Batch) -> Harvest | None:
    """The measurement of a batch that counts: the one that none has taken the place of."""
    found: Harvest | None = (
        Harvest.objects.within(building).filter(batch=batch, reverses__isnull=True, reversed_by__isnull=True).first()
    )
    return found


def parts_of(building: Building, batch: Batch) -> list[HarvestPart]:
    """What was measured of a batch by itself and stands, in the order in which it was written down."""
    rows = HarvestPart.objects.within(building).filter(batch=batch, reverses__isnull=True, reversed_by__isnull=True)
    return list(rows.select_related("place").order_by("ledger_number"))


def record_harvest(
    *, building: Building, batch_uid: UUID, told: Measured, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Write down what came out; the batch is harvested and its place is empty. Once a uid.

    What was measured in parts before counts with it. A batch that isn't ready by the rules is recorded all the
    same, and the row says so. Measured again before it is shared out: the first measurement is reversed. Raises
    Batch.DoesNotExist for a batch of another building, UidReused, and Refused where the lot has left already or
    has been shared out, or where nothing of it was measured.
    """
    print_ = fingerprint(asdict(told) | {"batch": batch_uid, "via": via})
    with open_ledger(building) as ledger:
        if known := already(Harvest, building, told.uid, print_):
            return Recorded(known, is_new=False)
        batch = Batch.objects.within(building).select_related("drum__site", "place").get(uid=batch_uid)
        before, parts = standing(building, batch), parts_of(building, batch)
        _refuse_what_cannot_be(building, batch, before, parts, told)
        when = times(told.happened_at or now, now)
        if before is not None:
            _reverse(ledger, before, person, via, now)
        row = ledger.add(
            Harvest(
                uid=told.uid,
                fingerprint=print_,
                **asdict(when),
                via=via,
                batch=batch,
                place=before.place if before else batch.place or parts[-1].place,
                measurement=before.measurement + 1 if before else 1,
                was_ready=before.was_ready if before else batch.stage == Stage.READY,
                **seen(told, batch, parts),
                overs_batch=filling(building, batch) if told.overs_ml else None,
            )
        )
        sign(HarvestAttribution, row, person)
        put_back(ledger, row, person)
        if before is None and Stage(batch.stage).is_live:
            go_to(ledger, batch, Stage.HARVESTED, person=person, via=via, at=now, cause=StageChange.Cause.HARVESTED)
            for decision in Decision.objects.within(building).proposed().filter(batch=batch):
                overtake(decision, now)
            tell_residents(ledger, batch.drum.site, now)
    return Recorded(row, is_new=True)


def seen(told: Measured, batch: Batch, parts: list[HarvestPart]) -> dict[str, int | None]:
    """The columns of what was seen. Without a tub told it is that of the last part, or the site's own."""
    return {
        "whole_tubs": told.whole_tubs,
        "part_millionths": told.part_millionths,
        "tub_ml": told.tub_ml or (parts[-1].tub_ml if parts else batch.drum.site.tub_ml),
        "weighed_g": told.weighed_g,
        "tub_empty_g": told.tub.empty_g,
        "tub_water_g": told.tub.water_g,
        "tub_full_g": told.tub.full_g,
        "overs_ml": told.overs_ml,
    }


def _refuse_what_cannot_be(
    building: Building, batch: Batch, before: Harvest | None, parts: list[HarvestPart], told: Measured
) -> None:
    if not (told.whole_tubs or told.part_millionths or parts):
        raise Refused({"whole_tubs": _("How many tubs came out? Count whole tubs, struck level.")})
    if before is None:
        # The rest of a lot may be thrown out after a part of it was measured: that part came out all the same.
        if not Stage(batch.stage).is_live and not (batch.stage == Stage.DISCARDED and parts):
            raise Refused({"batch": _("This lot has left its hatch already. Nothing was changed.")})
        if told.corrects is not None:
            raise Refused({"corrects": _("There is no measurement of this lot to put right.")})
        return
    if told.corrects != before.uid:
        raise Refused({"batch": _("This lot was measured already. Look at that measurement, then put it right.")})
    refuse_if_shared(building, before)
    if gone(building, before):
        raise Refused(
            {"batch": _("Some of this lot is written down as gone. Take that back first, then measure again.")}
        )


def refuse_if_shared(building: Building, harvest: Harvest) -> None:
    if Split.objects.within(building).filter(harvest=harvest).exists():
        raise Refused({"batch": _("This lot has been shared out already, so its measurement stays.")})


def reversed_columns(row: Harvest | HarvestPart, now: dt.datetime) -> dict[str, Any]:
    """The columns of a row that takes another measurement back."""
    return {
        "uid": uuid5(row.uid, "reversal"),
        "fingerprint": fingerprint({"reverses": row.uid}),
        "happened_at": row.happened_at,
        "heard_at": now,
        "counts_at": row.counts_at,
        "doubt": row.doubt,
        "reverses": row,
        "batch_id": row.batch_id,
        "place_id": row.place_id,
        "whole_tubs": -row.whole_tubs,
        "part_millionths": -row.part_millionths,
        "tub_ml": row.tub_ml,
        "weighed_g": None if row.weighed_g is None else -row.weighed_g,
        "tub_empty_g": row.tub_empty_g,
        "tub_water_g": row.tub_water_g,
        "tub_full_g": row.tub_full_g,
        "overs_ml": -row.overs_ml,
        "overs_batch_id": row.overs_batch_id,
    }


def _reverse(ledger: Ledger, row: Harvest, person: Person | None, via: str, now: dt.datetime) -> None:
    reversal = ledger.add(
        Harvest(**reversed_columns(row, now), via=via, measurement=row.measurement, was_ready=row.was_ready)
    )
    sign(HarvestAttribution, reversal, person)
    take_back(ledger, row, reversal, person)
