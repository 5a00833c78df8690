"""The night of one building: look at every drum, propose what the rules say, overtake what no longer holds.

A night is named by its local date and sees the books as of 03:00 on that date.
"""

import datetime as dt
from dataclasses import dataclass
from uuid import UUID, uuid5

from bins.decisions.gather import gather_drums, settings_of
from bins.models import Batch, Decision, Place
from bins.process.night import decide_night
from bins.process.proposal import Proposal
from bins.process.site import SiteSettings
from bins.process.snapshot import DrumSnapshot
from households.models import Building, Job

NAME = "night"
AT = dt.time(3, 0)  # chosen: after the last pail, before the first visit
RESTS = dt.timedelta(days=7)  # chosen: what a person has answered isn't asked again before
MOST_MISSED = 14  # nights made up for after an outage; older ones would decide on what nobody remembers


def as_of(building: Building, day: dt.date) -> dt.datetime:
    return building.instant(day, AT)


def promise_first(building: Building, now: dt.datetime) -> None:
    """Promise the first night of a new building: the next 03:00 of its own clock."""
    day = building.local(now).date()
    if as_of(building, day) <= now:
        day += dt.timedelta(days=1)
    Job.plan(building, NAME, day.isoformat(), as_of(building, day))


def promise_after(building: Building, day: dt.date, now: dt.datetime) -> None:
    """Promise the night after `day`, in order; after a long outage the oldest ones are left out."""
    following = max(day + dt.timedelta(days=1), _earliest(building, now))
    Job.plan(building, NAME, following.isoformat(), as_of(building, following))


def is_too_late(building: Building, day: dt.date, now: dt.datetime) -> bool:
    """Whether a night should decide nothing any more: too long ago, or a later one has run already.

    The second happens when a parked night is put right by hand; the later one saw all that it would have seen.
    """
    later = Job.objects.filter(scope=str(building.uid), name=NAME, state=Job.State.DONE, key__gt=day.isoformat())
    return day < _earliest(building, now) or later.exists()


def _earliest(building: Building, now: dt.datetime) -> dt.date:
    return building.local(now).date() - dt.timedelta(days=MOST_MISSED - 1)


@dataclass(frozen=True)
class Gathered:
    """The facts of a night as of `at`."""

    at: dt.datetime
    sites: tuple[tuple[SiteSettings, tuple[DrumSnapshot, ...]], ...]


def gather(building: Building, at: dt.datetime) -> Gathered:
    on = building.local(at).date()
    return Gathered(at, tuple((settings_of(site, on), drums) for site, drums in gather_drums(building, at)))


def decide(gathered: Gathered) -> tuple[Proposal, ...]:
    """All proposals of the night; touches no database."""
    return tuple(
        proposal for settings, drums in gathered.sites for proposal in decide_night(drums, settings, gathered.at)
    )


def figures_of(proposal: Proposal) -> dict[str, float | int]:
    return {f.name: f.value if isinstance(f.value, int) else float(f.value) for f in proposal.figures}


def apply(building: Building, proposals: tuple[Proposal, ...], at: dt.datetime, name_space: UUID) -> None:
    """Write the night's decisions. Call with the building locked.

    One open proposal per batch and rule: the same outcome refreshes its figures; another one, or none, means
    that it is overtaken. What a person answered alike within the last days is left at rest, and a missed night
    leaves alone what was proposed since, on later facts than its own. New rows take their uid from the job's
    own name space, so a rerun makes the same.
    """
    open_ones = {
        (decision.batch.uid, decision.rule): decision
        for decision in Decision.objects.within(building).proposed().select_related("batch", "next_place")
    }
    answered = list(
        Decision.objects.within(building)
        .filter(state__in=[Decision.State.APPLIED, Decision.State.DECLINED], settled_at__gt=at - RESTS)
        .select_related("batch", "next_place")
    )
    batches = {batch.uid: batch for batch in Batch.objects.within(building).live()}
    places = {place.uid: place for place in Place.objects.within(building)}
    for ordinal, proposal in enumerate(proposals):
        batch = batches.get(proposal.batch_uid)
        if batch is None or batch.stage != proposal.from_stage:
            continue  # of a missed night: a person has moved it on since
        open_one = open_ones.pop((proposal.batch_uid, str(proposal.rule)), None)
        if open_one is not None and open_one.figures_at > at:
            continue
        if open_one is not None and says(open_one, proposal):
            refresh(open_one, proposal, at)
            continue
        if open_one is not None:
            overtake(open_one, at)
        if any(old.batch.uid == proposal.batch_uid and says(old, proposal) for old in answered):
            continue
        propose(building, proposal, batches, places, at, uuid5(name_space, str(ordinal)))
    for left in open_ones.values():
        if left.figures_at <= at:
            overtake(left, at)


def says(decision: Decision, proposal: Proposal) -> bool:
    """Whether a stored decision and a fresh proposal come to the same, whatever their figures."""
    return (
        decision.rule == proposal.rule
        and decision.to_stage == proposal.to_stage
        and decision.reason == proposal.reason
        and (decision.next_place.uid if decision.next_place else None) == proposal.next_place_uid
    )


def propose(
    building: Building, proposal: Proposal, batches: dict[UUID, Batch], places: dict[UUID, Place],
    at: dt.datetime, uid: UUID,
) -> Decision:  # fmt: skip
    decision: Decision = Decision.objects.create(
        building=building,
        uid=uid,
        batch=batches[proposal.batch_uid],
        rule=str(proposal.rule),
        version=proposal.version,
        from_stage=str(proposal.from_stage),
        to_stage=str(proposal.to_stage),
        next_place=places[proposal.next_place_uid] if proposal.next_place_uid else None,
        reason=str(proposal.reason),
        figures=figures_of(proposal),
        made_at=at,
        figures_at=at,
    )
    return decision


def refresh(decision: Decision, proposal: Proposal, at: dt.datetime) -> None:
    """The same outcome on later facts: only the figures change."""
    decision.figures, decision.figures_at = figures_of(proposal), at
    decision.save(update_fields=["figures", "figures_at"])


def overtake(decision: Decision, at: dt.datetime) -> None:
    decision.state, decision.settled_at = Decision.State.OVERTAKEN, at
    decision.save(update_fields=["state", "settled_at"])
