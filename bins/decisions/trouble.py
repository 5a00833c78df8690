"""What is wrong with a batch: thought about as soon as somebody tells, and again by every night.

One open proposal per batch, like those of the other rules. Yes means that it was done: see settle.py.
"""

import datetime as dt
from uuid import UUID, uuid5

from bins.decisions.gather import gather_drums, settings_of
from bins.decisions.night import overtake, propose, refresh, says
from bins.models import Batch, Decision, Drum, Place
from bins.process.proposal import Rule
from bins.process.trouble import decide_trouble
from households.models import Building


def think(building: Building, drum: Drum, now: dt.datetime, name_space: UUID) -> None:
    """Write what the diagnosis says of each batch of the drum now. Call with the building locked.

    Unlike a night it doesn't leave at rest what was answered lately: somebody has just said that it is still there.
    """
    ((site, drums),) = gather_drums(building, now, only=drum)
    proposals = decide_trouble(drums[0], settings_of(site, building.local(now).date()), now)
    open_ones = {
        decision.batch.uid: decision
        for decision in Decision.objects.within(building)
        .proposed()
        .filter(rule=str(Rule.TROUBLE), batch__drum=drum)
        .select_related("batch", "next_place")
    }
    batches = {batch.uid: batch for batch in Batch.objects.within(building).live().filter(drum=drum)}
    places: dict[UUID, Place] = {}  # a trouble opens no other hatch
    for proposal in proposals:
        open_one = open_ones.pop(proposal.batch_uid, None)
        if open_one is not None and says(open_one, proposal):
            refresh(open_one, proposal, now)
            continue
        if open_one is not None:
            overtake(open_one, now)
        if proposal.batch_uid in batches:
            propose(building, proposal, batches, places, now, uuid5(name_space, f"trouble {proposal.batch_uid}"))
    for left in open_ones.values():
        overtake(left, now)
