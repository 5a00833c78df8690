"""A person answers a proposal: "tag moved", yes, or no.

Confirming runs the rule again on present figures. The same outcome is applied; another is shown beside the
first, and nothing changes until somebody answers that.
"""

import datetime as dt
from dataclasses import dataclass
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.movements import write_movement
from bins.care.stages import go_to, open_batch, write_change
from bins.committee.questions import note_answer, refuse_another
from bins.decisions.gather import gather_drums, settings_of
from bins.decisions.night import overtake, propose, says
from bins.decisions.remedying import note_remedy
from bins.models import Batch, Decision, Movement, Place, StageChange
from bins.process.fresh import fresh_in_count
from bins.process.night import decide_night
from bins.process.proposal import Proposal, Reason, Rule
from bins.process.snapshot import DrumSnapshot
from bins.process.stage import Stage
from bins.records import Refused
from households.ledger import Ledger, open_ledger
from households.models import Building, Person

TAKE_OUT, BACK = "take_out", "back"


@dataclass(frozen=True)
class Settled:
    """What came of an answer: the decision as it stands, and what the rule says now if that differs."""

    decision: Decision
    instead: Decision | None = None

    @property
    def is_applied(self) -> bool:
        return self.decision.state == Decision.State.APPLIED


@dataclass(frozen=True)
class _By:
    """Who answers, how, and when."""

    person: Person | None
    via: str
    at: dt.datetime


def confirm(
    *, building: Building, uid: UUID, person: Person | None, via: str, now: dt.datetime, choice: str = "",
    why: str = "",
) -> Settled:  # fmt: skip
    """Apply a proposal if its rule still says so. Answering twice gives the first answer.

    choice: what to do with fresh scraps in a finished batch, `take_out` or `back`; other proposals need none.
    why: the committee's reason, where the question is theirs. Raises Decision.DoesNotExist for a decision of
    another building, Refused where the choice is missing or the committee decides and `person` isn't on it.
    """
    with open_ledger(building) as ledger:
        decision = _fetch(building, uid)
        if decision.state != Decision.State.PROPOSED:
            return Settled(decision)
        refuse_another(building, decision, person, now)
        ((site, drums),) = gather_drums(building, now, only=decision.batch.drum)
        fresh = next(
            (
                proposal
                for proposal in decide_night(drums, settings_of(site, building.local(now).date()), now)
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
        by = _By(person, via, now)
        if decision.reason == Reason.FRESH_WHILE_READY:
            _answer_fresh(ledger, decision, drums[0], choice, by)
        else:
            _apply(ledger, decision, fresh, by)
        note_answer(ledger, decision, choice or "yes", person=person, via=via, now=now, why=why)
        tell_residents(ledger, site, now)
    return Settled(decision)


def decline(
    *, building: Building, uid: UUID, person: Person | None, now: dt.datetime, via: str = "web", why: str = ""
) -> Settled:
    """Say no to a proposal; the next night may make it again on new figures.

    Raises Decision.DoesNotExist, and Refused where the committee decides and `person` isn't on it.
    """
    with open_ledger(building) as ledger:
        decision = _fetch(building, uid)
        if decision.state == Decision.State.PROPOSED:
            refuse_another(building, decision, person, now)
            note_answer(ledger, decision, "no", person=person, via=via, now=now, why=why)
            decision.state, decision.settled_at, decision.settled_by = Decision.State.DECLINED, now, person
            decision.save(update_fields=["state", "settled_at", "settled_by"])
    return Settled(decision)


def apply_now(
    ledger: Ledger, proposal: Proposal, *, uid: UUID, person: Person | None, via: str, now: dt.datetime
) -> Decision:
    """Write a decision that a person's word makes and apply it at once; an open one of that rule is overtaken."""
    building = ledger.building
    for open_one in (
        Decision.objects.within(building).proposed().filter(batch__uid=proposal.batch_uid, rule=str(proposal.rule))
    ):
        overtake(open_one, now)
    batch = Batch.objects.within(building).select_related("place", "drum").get(uid=proposal.batch_uid)
    places = {place.uid: place for place in Place.objects.within(building)}
    decision = propose(building, proposal, {batch.uid: batch}, places, now, uid)
    _apply(ledger, decision, proposal, _By(person, via, now))
    return decision


def _fetch(building: Building, uid: UUID) -> Decision:
    decision: Decision = (
        Decision.objects.within(building)
        .select_related("batch__drum__site", "batch__place", "next_place__drum")
        .get(uid=uid)
    )
    return decision


def _settle(decision: Decision, by: _By) -> None:
    decision.state, decision.settled_at, decision.settled_by = Decision.State.APPLIED, by.at, by.person
    decision.save(update_fields=["state", "settled_at", "settled_by"])


def _apply(ledger: Ledger, decision: Decision, fresh: Proposal, by: _By) -> None:
    _settle(decision, by)
    batch = decision.batch
    if decision.rule == Rule.TROUBLE:
        note_remedy(ledger, decision, person=by.person, via=by.via, now=by.at)
    cause = StageChange.Cause.FRESH if decision.rule == Rule.FRESH else StageChange.Cause.RULE
    if decision.to_stage != batch.stage:
        go_to(
            ledger, batch, decision.to_stage, person=by.person, via=by.via, at=by.at, cause=cause,
            counts_from=fresh.counts_from, decision=decision,
        )  # fmt: skip
    elif fresh.counts_from is not None:  # it works already; only its days begin anew
        assert batch.place is not None
        write_change(
            ledger, batch, batch.place, batch.stage, person=by.person, via=by.via, at=by.at, cause=cause,
            counts_from=fresh.counts_from, decision=decision,
        )  # fmt: skip
    if decision.next_place is not None:
        open_batch(
            ledger, decision.next_place, uid=uuid5(decision.uid, "next"), person=by.person, via=by.via, at=by.at,
            decision=decision,
        )  # fmt: skip


def _answer_fresh(ledger: Ledger, decision: Decision, drum: DrumSnapshot, choice: str, by: _By) -> None:
    """Fresh scraps in a finished batch: they were taken out, or it works again from the day they came."""
    batch = decision.batch
    scraps = next(fresh_in_count(one, by.at) for one in drum.batches if one.uid == batch.uid)
    if choice == TAKE_OUT:
        write_movement(
            ledger, batch, Movement.Kind.TAKEN_OUT, uid=uuid5(decision.uid, "taken out"), person=by.person,
            via=by.via, at=by.at, millilitres=sum(one.millilitres for one in scraps),
        )  # fmt: skip
    elif choice == BACK:
        go_to(
            ledger, batch, Stage.COMPOSTING, person=by.person, via=by.via, at=by.at, cause=StageChange.Cause.FRESH,
            counts_from=scraps[-1].at, decision=decision,
        )  # fmt: skip
    else:
        raise Refused({"answer": _("Say what you did: took it out, or let it work again.")})
    _settle(decision, by)
