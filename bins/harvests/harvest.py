"""What can be done with a finished lot: take it out, measure it in one tub, and put the sieve's rest back."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.stages import go_to
from bins.decisions.night import overtake
from bins.harvests.balance import gone
from bins.models import Batch, Decision, Harvest, HarvestAttribution, Split, StageChange
from bins.process.stage import Stage
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Person

# A person tells tenths or quarters of the last tub: nearer than that nobody strikes it.
PARTS = {
    "0": 0, "0.1": 100_000, "0.2": 200_000, "0.25": 250_000, "0.3": 300_000, "0.4": 400_000, "0.5": 500_000,
    "0.6": 600_000, "0.7": 700_000, "0.75": 750_000, "0.8": 800_000, "0.9": 900_000,
}  # fmt: skip
MOST_TUBS = 1000
MOST_GRAMS = 5_000_000
MOST_TUB_ML = 60_000
LEAST_TUB_ML = 1_000
MOST_OVERS_ML = 2_000_000


@dataclass(frozen=True)
class Measured:
    """One harvest as it was told: whole tubs and a part of the last, all in one tub struck level."""

    uid: UUID
    corrects: UUID | None  # the measurement that this one takes the place of
    happened_at: dt.datetime | None
    whole_tubs: int
    part_millionths: int
    tub_ml: int | None
    weighed_g: int | None
    overs_ml: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named.

        whole_tubs: 0 to 1000; part: tenths or quarters; tub_litres: 1 to 60; kilograms: up to 5000, optional;
        overs_litres: up to 2000; is_empty: yes, said by a person who looked.
        """
        reader = Reader(dict(raw) | {"part": str(raw.get("part") or "0").replace(",", ".")})
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        whole_tubs = reader.whole("whole_tubs", 0, MOST_TUBS)
        part = PARTS.get(reader.choice("part", PARTS, "0"), 0)
        if not whole_tubs and not part and not reader.errors:
            reader.errors["whole_tubs"] = _("How many tubs came out? Count whole tubs, struck level.")
        tub_ml = reader.thousandths("tub_litres", MOST_TUB_ML)
        if tub_ml is not None and tub_ml < LEAST_TUB_ML:
            reader.errors["tub_litres"] = _("A tub holds 1 to 60 litres.")
        if not reader.yes("is_empty") and "is_empty" not in reader.errors:
            reader.errors["is_empty"] = _("Take everything out first, measure it all, and then say that it is empty.")
        told = cls(
            uid=reader.uid(),
            corrects=reader.uid("corrects") if raw.get("corrects") else None,
            happened_at=None if happened_at == nothing else happened_at,
            whole_tubs=whole_tubs or 0,
            part_millionths=part,
            tub_ml=tub_ml,
            weighed_g=reader.thousandths("kilograms", MOST_GRAMS),
            overs_ml=_overs(reader),
        )
        reader.finish()
        return told


def _overs(reader: Reader) -> int:
    """Millilitres left in the sieve: nothing told and a plain zero count alike."""
    if reader.raw.get("overs_litres") in (0, "0"):
        return 0
    return reader.thousandths("overs_litres", MOST_OVERS_ML) or 0


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


def record_harvest(
    *, building: Building, batch_uid: UUID, told: Measured, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Write down what came out; the batch is harvested and its place is empty. Once a uid.

    A batch that isn't ready by the rules is recorded all the same, and the row says so. Measured again before
    it is shared out: the first measurement is reversed. Raises Batch.DoesNotExist for a batch of another
    building, UidReused, and Refused where the lot has left already or has been shared out.
    """
    print_ = fingerprint(asdict(told) | {"batch": batch_uid, "via": via})
    with open_ledger(building) as ledger:
        if known := already(Harvest, building, told.uid, print_):
            return Recorded(known, is_new=False)
        batch = Batch.objects.within(building).select_related("drum__site", "place").get(uid=batch_uid)
        before = standing(building, batch)
        _refuse_what_cannot_be(building, batch, before, told)
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
                place=before.place if before else batch.place,
                measurement=before.measurement + 1 if before else 1,
                was_ready=before.was_ready if before else batch.stage == Stage.READY,
                whole_tubs=told.whole_tubs,
                part_millionths=told.part_millionths,
                tub_ml=told.tub_ml or batch.drum.site.tub_ml,
                weighed_g=told.weighed_g,
                overs_ml=told.overs_ml,
                overs_batch=_filling(building, batch) if told.overs_ml else None,
            )
        )
        sign(HarvestAttribution, row, person)
        if before is None:
            go_to(ledger, batch, Stage.HARVESTED, person=person, via=via, at=now, cause=StageChange.Cause.HARVESTED)
            for decision in Decision.objects.within(building).proposed().filter(batch=batch):
                overtake(decision, now)
            tell_residents(ledger, batch.drum.site, now)
    return Recorded(row, is_new=True)


def _refuse_what_cannot_be(building: Building, batch: Batch, before: Harvest | None, told: Measured) -> None:
    if before is None:
        if not Stage(batch.stage).is_live:
            raise Refused({"batch": _("This lot has left its hatch already. Nothing was changed.")})
        if told.corrects is not None:
            raise Refused({"corrects": _("There is no measurement of this lot to put right.")})
        return
    if told.corrects != before.uid:
        raise Refused({"batch": _("This lot was measured already. Look at that measurement, then put it right.")})
    if Split.objects.within(building).filter(harvest=before).exists():
        raise Refused({"batch": _("This lot has been shared out already, so its measurement stays.")})
    if gone(building, before):
        raise Refused(
            {"batch": _("Some of this lot is written down as gone. Take that back first, then measure again.")}
        )


def _filling(building: Building, batch: Batch) -> Batch | None:
    """The batch that takes scraps in the same drum: the sieve's rest goes back in there."""
    others = Batch.objects.within(building).filter(drum=batch.drum, stage=Stage.FILLING).exclude(pk=batch.pk)
    found: Batch | None = others.first()
    return found


def _reverse(ledger: Ledger, row: Harvest, person: Person | None, via: str, now: dt.datetime) -> None:
    reversal = ledger.add(
        Harvest(
            uid=uuid5(row.uid, "reversal"),
            fingerprint=fingerprint({"reverses": row.uid}),
            happened_at=row.happened_at,
            heard_at=now,
            counts_at=row.counts_at,
            doubt=row.doubt,
            via=via,
            reverses=row,
            batch_id=row.batch_id,
            place_id=row.place_id,
            measurement=row.measurement,
            was_ready=row.was_ready,
            whole_tubs=-row.whole_tubs,
            part_millionths=-row.part_millionths,
            tub_ml=row.tub_ml,
            weighed_g=None if row.weighed_g is None else -row.weighed_g,
            overs_ml=-row.overs_ml,
            overs_batch_id=row.overs_batch_id,
        )
    )
    sign(HarvestAttribution, reversal, person)
