"""A batch goes to another stage: the batch's own row, and a row in the books that says why."""

import datetime as dt
from dataclasses import asdict
from uuid import UUID, uuid5

from bins.models import Batch, Decision, Place, StageChange, StageChangeAttribution
from bins.process.stage import Stage
from bins.signature import sign
from households.ledger import Ledger, fingerprint, times
from households.models import Person


def go_to(
    ledger: Ledger, batch: Batch, stage: str, *, person: Person | None, via: str, at: dt.datetime,
    cause: str = StageChange.Cause.RULE, reason: str = "", counts_from: dt.datetime | None = None,
    decision: Decision | None = None, uid: UUID | None = None, print_: str = "",
) -> StageChange:  # fmt: skip
    """Put a batch into a stage and write it down. An ended batch leaves its place.

    counts_from: where the days of the new stage begin, if not at `at`. uid and print_ where a person's own
    record asks for it; otherwise both are derived, so that a rerun makes the same.
    """
    before, place = batch.stage, batch.place
    assert place is not None  # only a batch that lives goes anywhere
    batch.stage = stage
    if stage == Stage.FILLING:
        batch.closed_at = None
    elif batch.closed_at is None:
        batch.closed_at = at
    if not Stage(stage).is_live:
        batch.place, batch.ended_at = None, at
    batch.save(update_fields=["stage", "closed_at", "place", "ended_at", "merged_into"])
    # What the rules asked of the stage it was in is no longer asked.
    Decision.objects.within(ledger.building).proposed().filter(batch=batch).exclude(from_stage=stage).update(
        state=Decision.State.OVERTAKEN, settled_at=at
    )
    return write_change(
        ledger, batch, place, before, person=person, via=via, at=at, cause=cause, reason=reason,
        counts_from=counts_from, decision=decision, uid=uid, print_=print_,
    )  # fmt: skip


def write_change(
    ledger: Ledger, batch: Batch, place: Place, before: str, *, person: Person | None, via: str, at: dt.datetime,
    cause: str, reason: str = "", counts_from: dt.datetime | None = None, decision: Decision | None = None,
    uid: UUID | None = None, print_: str = "",
) -> StageChange:  # fmt: skip
    """The row alone, for a batch that stands in its new stage already (one that begins)."""
    row = ledger.add(
        StageChange(
            uid=uid or uuid5(batch.uid, f"to {batch.stage} {at.isoformat()}"),
            fingerprint=print_ or fingerprint({"batch": batch.uid, "to": batch.stage}),
            **asdict(times(at, at)),
            via=via,
            batch=batch,
            place=place,
            decision=decision,
            from_stage=before,
            to_stage=batch.stage,
            cause=cause,
            reason=reason,
            counts_from=counts_from,
        )
    )
    sign(StageChangeAttribution, row, person)
    return row


def open_batch(
    ledger: Ledger, place: Place, *, uid: UUID, person: Person | None, via: str, at: dt.datetime,
    decision: Decision | None = None,
) -> Batch:  # fmt: skip
    """Begin a batch in an empty chamber. The database refuses a second one filling in the same drum."""
    batch = _new_batch(ledger, place, uid, at)
    cause = StageChange.Cause.RULE if decision else StageChange.Cause.BEGUN
    write_change(ledger, batch, place, "", person=person, via=via, at=at, cause=cause, decision=decision)
    return batch


def begin(
    ledger: Ledger, place: Place, *, person: Person | None, via: str, at: dt.datetime, uid: UUID, print_: str
) -> StageChange:
    """The same by a person's own record: its uid names the row, and the batch follows from it."""
    batch = _new_batch(ledger, place, uuid5(uid, "batch"), at)
    return write_change(
        ledger, batch, place, "", person=person, via=via, at=at, cause=StageChange.Cause.BEGUN, uid=uid, print_=print_
    )


def _new_batch(ledger: Ledger, place: Place, uid: UUID, at: dt.datetime) -> Batch:
    assert place.drum is not None  # a chamber has its drum: a check in the database
    batch: Batch = Batch.objects.create(
        building=ledger.building, uid=uid, drum=place.drum, place=place, started_in=place, stage=Stage.FILLING,
        opened_at=at, **place.site.terms,  # the rule in force when it opens is its own
    )  # fmt: skip
    return batch
