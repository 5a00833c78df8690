"""A harvest for tests: households that brought pails into a lot, and the lot taken out."""

import datetime as dt
from uuid import UUID, uuid4, uuid5

from bins.care.stages import go_to
from bins.harvests.harvest import record_harvest
from bins.harvests.measured import Measured
from bins.harvests.outgoing import Loss, PickUp, record_loss, record_pick_up
from bins.harvests.sharing import Sharing, finalise, preview
from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Batch, Drum, Harvest, Share, Split
from bins.people.joining import Joining, join
from bins.process.stage import Stage
from households.ledger import open_ledger
from households.models import Building, Person, Site
from households.people import Newcomer
from tests.cast import NOW

DAY = dt.timedelta(days=1)
OUT = NOW + 100 * DAY  # 12 August 2026, six in the evening: the day it is taken out
TUB = 1_000_000


def resident(here: Building, name: str) -> Person:
    """A person with an account, in a household of its own."""
    email = f"{name.lower().replace(' ', '-')}@quince-court.invalid"
    told = Joining(uuid5(here.uid, name), Newcomer(name, f"Flat {name}", email, ("resident",), "en"))
    return join(building=here, told=told, by=None, now=NOW)


def bring(here: Building, drum: Drum, person: Person, times: int = 3, grams: int = 1000, at: dt.datetime = NOW) -> None:
    for n in range(times):
        raw = {"uid": str(uuid4()), "drum": str(drum.uid), "kilograms": str(grams / 1000)}
        told = DropOff.from_raw(raw | {"happened_at": (at + n * DAY).isoformat()})
        record_drop_off(
            building=here, told=told, household=person.household, person=person, via="web", now=at + n * DAY
        )


def lot(here: Building, drum: Drum) -> Batch:
    batch: Batch = Batch.objects.within(here).filter(drum=drum).live().select_related("place").get()
    return batch


def mature(here: Building, batch: Batch) -> None:
    """Through its stages to finished."""
    with open_ledger(here) as ledger:
        for number, stage in enumerate((Stage.COMPOSTING, Stage.CURING, Stage.READY)):
            go_to(ledger, batch, stage, person=None, via="web", at=NOW + (20 + 30 * number) * DAY)


def take_out(
    here: Building, batch: Batch, tubs: int, part: str = "0", now: dt.datetime = OUT, **more: object
) -> Harvest:
    raw = {"uid": str(uuid4()), "whole_tubs": tubs, "part": part, "is_empty": "yes"}
    told = Measured.from_raw(raw | more)
    return record_harvest(building=here, batch_uid=batch.uid, told=told, person=None, via="web", now=now).row


def share_out(here: Building, harvest: Harvest, now: dt.datetime = OUT) -> Split:
    today = here.local(now).date()
    told = Sharing(uuid4(), preview(here, harvest, today).mark, today, "by the drums")
    return finalise(building=here, harvest_uid=harvest.uid, told=told, person=None, via="web", now=now).row


def shares_of(here: Building, split: Split) -> dict[str, Share]:
    rows = Share.objects.within(here).filter(split=split).select_related("attribution__household")
    return {row.attribution.household.label.removeprefix("Flat "): row for row in rows}


def fetch(
    here: Building, share: Share, tubs: int | None = None, now: dt.datetime = OUT, uid: UUID | None = None
) -> None:
    told = PickUp(uid or uuid4(), share.uid, None, None if tubs is None else tubs * TUB)
    record_pick_up(building=here, told=told, person=None, via="web", now=now)


def lose(here: Building, harvest: Harvest, millionths: int, loss: str = "taken", now: dt.datetime = OUT) -> UUID:
    told = Loss(uuid4(), None, loss, millionths, "")
    return record_loss(building=here, harvest_uid=harvest.uid, told=told, person=None, via="web", now=now).row.uid


def rule(here: Building, **terms: object) -> None:
    """Terms of the one site and of the lot that is open: as if it had opened under them."""
    Site.objects.within(here).update(**terms)
    own = {name: value for name, value in terms.items() if name not in ("tub_ml", "unclaimed_after_days")}
    if own:
        Batch.objects.within(here).update(**own)
