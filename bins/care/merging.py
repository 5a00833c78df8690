"""Two batches of one drum become one. Whoever brought to either shares what comes out."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.movements import write_movement
from bins.care.stages import go_to
from bins.models import Batch, Movement, StageChange
from bins.process.stage import Stage
from bins.records import Reader, Refused
from households.ledger import already, fingerprint, open_ledger
from households.models import Building, Person

ORDER = [Stage.FILLING, Stage.COMPOSTING, Stage.CURING, Stage.READY]


@dataclass(frozen=True)
class Merge:
    """One batch went into another, all of it."""

    uid: UUID
    batch_uid: UUID
    into_uid: UUID

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(uid=reader.uid(), batch_uid=reader.uid("batch"), into_uid=reader.uid("into"))
        reader.finish()
        return told


def merge(*, building: Building, told: Merge, person: Person | None, via: str, now: dt.datetime) -> Movement:
    """Put a batch together with another of its drum; the younger one decides what the two are now. Once a uid.

    An open batch stays open whatever joins it; an open one that joins a closed one is closed by it. The days of
    two alike count from the later beginning. Raises Batch.DoesNotExist for one of another building, Refused for
    two that can't be put together.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(Movement, building, told.uid, print_):
            return known
        both = Batch.objects.within(building).select_related("drum__site", "place")
        batch, into = both.get(uid=told.batch_uid), both.get(uid=told.into_uid)
        if batch.place is None or into.place is None or batch.pk == into.pk or batch.drum_id != into.drum_id:
            raise Refused({"into": _("Only two lots of the same drum can be put together. Nothing was changed.")})
        younger = max(
            Stage.COMPOSTING if into.stage != Stage.FILLING else Stage.FILLING,
            min(Stage(batch.stage), Stage(into.stage), key=ORDER.index),
            key=ORDER.index,
        )
        since = max(_since(batch, younger, now), _since(into, younger, now))
        row = write_movement(
            ledger, batch, Movement.Kind.MERGED, uid=told.uid, print_=print_, person=person, via=via, at=now, into=into
        )
        batch.merged_into = into
        go_to(
            ledger, batch, Stage.MERGED, person=person, via=via, at=now, cause=StageChange.Cause.MERGED,
            uid=uuid5(told.uid, "merged"),
        )  # fmt: skip
        if younger is not Stage.FILLING:
            go_to(
                ledger, into, younger, person=person, via=via, at=now, cause=StageChange.Cause.MERGED,
                counts_from=since, uid=uuid5(told.uid, "into"),
            )  # fmt: skip
        tell_residents(ledger, into.drum.site, now)
    return row


def _since(batch: Batch, stage: Stage, now: dt.datetime) -> dt.datetime:
    """When the days of a stage began for a batch: `now` for one that closes just here, long ago for one past it."""
    if ORDER.index(Stage(batch.stage)) < ORDER.index(stage):
        return now
    last: StageChange | None = (
        StageChange.objects.within(batch.building)
        .filter(batch=batch, to_stage=stage)
        .order_by("-counts_at", "-ledger_number")
        .first()
    )
    if last is not None:
        return last.counts_from or last.counts_at
    return batch.closed_at or batch.opened_at
