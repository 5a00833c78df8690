"""What is done with a lot that is finished: taken out and measured, shared out the next day, fetched by most."""

import datetime as dt

from bins.harvests.harvest import record_harvest
from bins.harvests.measured import Measured
from bins.harvests.outgoing import Loss, PickUp, record_loss, record_pick_up
from bins.harvests.sharing import Sharing, finalise, preview
from bins.hatch import drum_states
from bins.models import Batch, Harvest, Outgoing, Share, StageChange
from bins.process.stage import Stage
from households.models import Building, Person

from . import habits, heap, people
from .block import day_of, uid

STANDS_FOR = dt.timedelta(days=3)  # that a finished lot waits until somebody has the time
NEEDED_FROM = 50  # percent of the open hatch: until then a finished lot may stay where it is
COMES_OUT = 0.45  # chosen: of what is in the hatch, the rest stays in the sieve or goes up in air
TUB_ML = 10_000
FETCH_AFTER = 2  # days from the sharing to the first day for fetching
SPILT_OF = 2  # of this harvest a part was lost


def harvest(here: Building, wanda: Person, number: int, now: dt.datetime) -> None:
    """Take out what has been finished for some days once its hatch is needed; it is shared out the next day."""
    for one in Harvest.objects.within(here).filter(split__isnull=True, reversed_by__isnull=True, counts_at__lt=now):
        _share_out(here, wanda, one, number, now)
    needed = [
        state.drum for state in drum_states(here) if state.open is None or state.open.level_percent >= NEEDED_FROM
    ]
    for batch in Batch.objects.within(here).filter(stage=Stage.READY, drum__in=needed).order_by("uid"):
        ready = StageChange.objects.within(here).filter(batch=batch, to_stage=Stage.READY).latest("counts_at")
        if now - ready.counts_at >= STANDS_FOR:
            _take_out(here, wanda, batch, now)


def fetch(here: Building, wanda: Person, number: int, now: dt.datetime) -> None:
    """Those whose day it is come for their share; Wanda writes it down."""
    today = day_of(number)
    shares = Share.objects.within(here).filter(
        tubs__gt=0, split__pick_up_on__lte=today, split__pick_up_until__gte=today, attribution__household__isnull=False
    )
    for share in shares.select_related("split", "attribution__household").order_by("uid"):
        after = habits.fetches_after(people.number_of_household(share.attribution.household.uid))
        if after is not None and share.split.pick_up_on + dt.timedelta(days=after) == today:
            told = PickUp(uid(f"fetched {share.uid}"), share.uid, None, None)
            record_pick_up(building=here, told=told, person=wanda, via="web", now=now)


def _take_out(here: Building, wanda: Person, batch: Batch, now: dt.datetime) -> None:
    tenths = round(heap.volume_ml(batch, now) * COMES_OUT * 10 / TUB_ML)
    raw = {
        "uid": str(uid(f"harvest {batch.uid}")),
        "whole_tubs": tenths // 10,
        "part": f"0.{tenths % 10}" if tenths % 10 else "0",
        "overs_litres": 6,
        "is_empty": "yes",
    }
    told = Measured.from_raw(raw)
    row = record_harvest(building=here, batch_uid=batch.uid, told=told, person=wanda, via="web", now=now).row
    if Harvest.objects.within(here).filter(reverses__isnull=True).count() == SPILT_OF:
        loss = Loss(uid(f"lost {batch.uid}"), None, Outgoing.Loss.SPILT, 500_000, "")
        record_loss(building=here, harvest_uid=row.uid, told=loss, person=wanda, via="web", now=now)


def _share_out(here: Building, wanda: Person, one: Harvest, number: int, now: dt.datetime) -> None:
    told = Sharing(
        uid=uid(f"sharing {one.uid}"),
        mark=preview(here, one, here.local(now).date()).mark,
        pick_up_on=day_of(number + FETCH_AFTER),
        pick_up_where="at the cellar door, from 17:00 to 19:00",
    )
    finalise(building=here, harvest_uid=one.uid, told=told, person=wanda, via="web", now=now)
