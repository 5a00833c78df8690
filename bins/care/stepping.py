"""A person moves a batch on or back against the rules, with a reason that stays visible beside the name."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.lineage import family
from bins.care.stages import go_to
from bins.committee.ways import refuse_others
from bins.models import Batch, Contribution, Drum, StageChange
from bins.process.stage import Stage
from bins.records import Reader, Refused
from households.ledger import Ledger, already, fingerprint, open_ledger
from households.models import Building, Person


@dataclass(frozen=True)
class Step:
    """One batch, and why."""

    uid: UUID
    batch_uid: UUID
    reason: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(
            uid=reader.uid(),
            batch_uid=reader.uid("batch"),
            reason=reader.words("reason", 300, _("What is the reason?")),
        )
        reader.finish()
        return told


def say_finished(*, building: Building, told: Step, person: Person | None, via: str, now: dt.datetime) -> StageChange:
    """Curing to ready by a person's word, before the rule says so. Once a uid.

    Raises Batch.DoesNotExist for a batch of another building, Refused for one that isn't resting, for no name,
    and where the committee decides and `person` isn't on it.
    """
    print_ = fingerprint(asdict(told) | {"act": "override", "via": via})
    with open_ledger(building) as ledger:
        if known := already(StageChange, building, told.uid, print_):
            return known
        batch = _fetch(building, told.batch_uid)
        if batch.stage != Stage.CURING:
            raise Refused({"batch": _("Only a lot that is resting can be called finished. Nothing was changed.")})
        if person is None:
            raise Refused({"batch": _("A name is needed for this. Nothing was changed.")})
        refuse_others(building, batch.drum.site, person, now, "batch")
        return go_to(
            ledger, batch, Stage.READY, person=person, via=via, at=now, cause=StageChange.Cause.OVERRIDE,
            reason=told.reason, uid=told.uid, print_=print_,
        )  # fmt: skip


def step_back(*, building: Building, told: Step, person: Person | None, via: str, now: dt.datetime) -> StageChange:
    """One stage back. Its days go on from where they were: whoever erred loses none. Once a uid.

    A batch that is working opens again only where the hatch opened after it has taken nothing yet: that one is
    folded into it. Raises Batch.DoesNotExist for a batch of another building, Refused where it can't go back.
    """
    print_ = fingerprint(asdict(told) | {"act": "back", "via": via})
    with open_ledger(building) as ledger:
        if known := already(StageChange, building, told.uid, print_):
            return known
        batch = _fetch(building, told.batch_uid)
        stage = Stage(batch.stage).one_back
        if stage is None:
            raise Refused({"batch": _("This lot cannot go back. Nothing was changed.")})
        cause = StageChange.Cause.BACK
        if stage is Stage.FILLING and _fold_the_next_one(ledger, batch, person, via, now):
            cause = StageChange.Cause.UNDONE
        before = (
            StageChange.objects.within(building)
            .filter(batch=batch, to_stage=stage, reversed_by__isnull=True)
            .order_by("-counts_at", "-ledger_number")
            .first()
        )
        change = go_to(
            ledger, batch, stage, person=person, via=via, at=now, cause=cause, reason=told.reason, uid=told.uid,
            print_=print_, counts_from=(before.counts_from or before.counts_at) if before else None,
        )  # fmt: skip
        tell_residents(ledger, batch.drum.site, now)
    return change


def _fold_the_next_one(ledger: Ledger, batch: Batch, person: Person | None, via: str, now: dt.datetime) -> bool:
    """Make room for reopening; True where an empty one was open meanwhile. Refused where that can't be."""
    building, drum, place = ledger.building, batch.drum, batch.place
    if place is None or place.drum_id != drum.pk or place.is_quarantined or drum.state != Drum.State.IN_SERVICE:
        raise Refused({"batch": _("Its hatch cannot be open now. Nothing was changed.")})
    following = Batch.objects.within(building).filter(drum=drum, stage=Stage.FILLING).select_related("place").first()
    if following is None:
        return False
    brought = Contribution.objects.within(building).filter(batch__in=family(building, following))
    if brought.filter(reverses__isnull=True, reversed_by__isnull=True).exists():
        raise Refused({"batch": _("Scraps went into the other hatch since, so this one stays shut.")})
    # It was never really open: whatever is still told of those hours belongs to the batch that goes on.
    following.merged_into, following.closed_at = batch, following.opened_at
    go_to(
        ledger, following, Stage.MERGED, person=person, via=via, at=now, cause=StageChange.Cause.UNDONE,
        uid=uuid5(following.uid, f"undone {now.isoformat()}"),
    )  # fmt: skip
    return True


def _fetch(building: Building, uid: UUID) -> Batch:
    batch: Batch = Batch.objects.within(building).select_related("drum__site", "place").get(uid=uid)
    return batch
