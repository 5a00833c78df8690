"""A person answers a proposal: "tag moved", yes, or no.

Confirming runs the rule again on present figures. The same outcome is applied; another is shown beside the
first, and nothing changes until somebody answers that.
"""

import datetime as dt
from dataclasses import dataclass
from uuid import UUID, uuid5

from bins.models import Batch, Decision, Place, StageChange, StageChangeAttribution
from bins.process.night import decide_night
from bins.process.proposal import Rule
from bins.process.stage import Stage
from households.ledger import Ledger, fingerprint, open_ledger, times
from households.models import Building, Person

from .gather import gather_drums, settings_of
from .night import overtake, propose, says


@dataclass(frozen=True)
class Settled:
    """What came of an answer: the decision as it stands, and what the rule says now if that differs."""

    decision: Decision
    instead: Decision | None = None

    @property
    def is_applied(self) -> bool:
        return self.decision.state == Decision.State.APPLIED


def confirm(*, building: Building, uid: UUID, person: Person | None, via: str, now: dt.datetime) -> Settled:
    """Apply a proposal if its rule still says so. Answering twice gives the first answer.

    Raises Decision.DoesNotExist for a decision of another building.
    """
    with open_ledger(building) as ledger:
        decision = _fetch(building, uid)
        if decision.state != Decision.State.PROPOSED:
            return Settled(decision)
        ((site, drums),) = gather_drums(building, now, only=decision.batch.drum)
        fresh = next(
            (
                proposal
                for proposal in decide_night(drums, settings_of(site), now)
                if proposal.batch_uid == decision.batch.uid and proposal.rule == decision.rule
            ),
            None,
        )
        if fresh is None or not says(decision, fresh):
            overtake(decision, now)
            if fresh is None:
                return Settled(decision)
            batches = {decision.batch.uid: decision.batch}
            places = {place.uid: place for place in Place.objects.within(building)}
            return Settled(decision, propose(building, fresh, batches, places, now, uuid5(decision.uid, "instead")))
        _apply(ledger, decision, person, via, now)
    return Settled(decision)


def decline(*, building: Building, uid: UUID, person: Person | None, now: dt.datetime) -> Settled:
    """Say no to a proposal; the next night may make it again on new figures."""
    with open_ledger(building):
        decision = _fetch(building, uid)
        if decision.state == Decision.State.PROPOSED:
            decision.state, decision.settled_at, decision.settled_by = Decision.State.DECLINED, now, person
            decision.save(update_fields=["state", "settled_at", "settled_by"])
    return Settled(decision)


def open_batch(
    ledger: Ledger, place: Place, *, uid: UUID, person: Person | None, via: str, at: dt.datetime,
    decision: Decision | None = None,
) -> Batch:  # fmt: skip
    """Begin a batch in an empty chamber. The database refuses a second one filling in the same drum."""
    batch: Batch = Batch.objects.create(
        building=ledger.building, uid=uid, drum=place.drum, place=place, started_in=place, stage=Stage.FILLING,
        opened_at=at, **place.site.terms,
    )  # fmt: skip
    _record(ledger, batch, place, "", person, via, at, decision)
    return batch


def _fetch(building: Building, uid: UUID) -> Decision:
    decision: Decision = (
        Decision.objects.within(building).select_related("batch__drum", "batch__place", "next_place__drum").get(uid=uid)
    )
    return decision


def _apply(ledger: Ledger, decision: Decision, person: Person | None, via: str, now: dt.datetime) -> None:
    decision.state, decision.settled_at, decision.settled_by = Decision.State.APPLIED, now, person
    decision.save(update_fields=["state", "settled_at", "settled_by"])
    batch, before = decision.batch, decision.batch.stage
    if decision.to_stage == before:
        return  # a warning or a question: seen, and nothing moves
    place = batch.place
    batch.stage = decision.to_stage
    if decision.rule == Rule.CLOSE:
        batch.closed_at = now
    batch.save(update_fields=["stage", "closed_at"])
    _record(ledger, batch, place, before, person, via, now, decision)
    if decision.next_place is not None:
        open_batch(
            ledger, decision.next_place, uid=uuid5(decision.uid, "next"), person=person, via=via, at=now,
            decision=decision,
        )  # fmt: skip


def _record(
    ledger: Ledger, batch: Batch, place: Place, before: str, person: Person | None, via: str, at: dt.datetime,
    decision: Decision | None,
) -> None:  # fmt: skip
    when = times(at, at)
    row = ledger.add(
        StageChange(
            uid=uuid5(batch.uid, f"to {batch.stage} {at.isoformat()}"),
            fingerprint=fingerprint({"batch": batch.uid, "to": batch.stage}),
            happened_at=when.happened_at,
            heard_at=when.heard_at,
            counts_at=when.counts_at,
            doubt=when.doubt,
            via=via,
            batch=batch,
            place=place,
            decision=decision,
            from_stage=before,
            to_stage=batch.stage,
        )
    )
    StageChangeAttribution.objects.create(
        building=ledger.building,
        uid=uuid5(row.uid, "attribution"),
        row=row,
        household=person.household if person else None,
        person=person,
    )
