"""Short hands for tests of care: what a person does at a drum, by the services, inside the cast's building."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from bins.care.closing import Closing, Opening, close_now, open_hatch
from bins.care.stages import go_to
from bins.care.stepping import Step, say_finished, step_back
from bins.care.visit import CareVisit, record_visit
from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Batch, Contribution, Decision, Place, StageChange, Visit
from households.ledger import open_ledger
from households.models import Building
from tests.cast import NOW, Cast

DAY = dt.timedelta(days=1)


def hatch(here: Building, cast: Cast, letter: str) -> Place:
    place: Place = Place.objects.within(here).get(drum=cast.drum, letter=letter)
    return place


def batch_in(here: Building, cast: Cast, letter: str) -> Batch:
    batch: Batch = Batch.objects.within(here).live().get(place__drum=cast.drum, place__letter=letter)
    return batch


def fresh(batch: Batch) -> Batch:
    batch.refresh_from_db()
    return batch


def by(cast: Cast, here: Building, now: dt.datetime = NOW) -> dict[str, Any]:
    return {"building": here, "person": cast.caretaker, "via": "web", "now": now}


def pail(cast: Cast, here: Building, now: dt.datetime = NOW, **raw: object) -> Contribution:
    told = DropOff.from_raw({"uid": uuid4(), "drum": cast.drum.uid, "quarter_pails": 4} | raw)
    return record_drop_off(
        building=here, told=told, household=cast.resident.household, person=cast.resident, via="web", now=now
    ).row


def visit(cast: Cast, here: Building, now: dt.datetime = NOW, **raw: object) -> Visit:
    told = CareVisit.from_raw({"uid": uuid4(), "drum": cast.drum.uid, "turned": "yes"} | raw)
    return record_visit(told=told, **by(cast, here, now)).row


def close(cast: Cast, here: Building, batch: Batch, now: dt.datetime = NOW) -> Decision:
    return close_now(told=Closing(uuid4(), batch.uid), **by(cast, here, now))


def hang_tag(cast: Cast, here: Building, place: Place, now: dt.datetime = NOW) -> StageChange:
    return open_hatch(told=Opening(uuid4(), place.uid), **by(cast, here, now))


def back(cast: Cast, here: Building, batch: Batch, now: dt.datetime = NOW, uid: UUID | None = None) -> StageChange:
    return step_back(told=Step(uid or uuid4(), batch.uid, "a slip"), **by(cast, here, now))


def override(cast: Cast, here: Building, batch: Batch, now: dt.datetime = NOW) -> StageChange:
    return say_finished(told=Step(uuid4(), batch.uid, "it smells of forest"), **by(cast, here, now))


def put_in(here: Building, batch: Batch, stage: str, at: dt.datetime) -> Batch:
    """Bring a batch to a stage without waiting, as the rules would have."""

    with open_ledger(here) as ledger:
        go_to(ledger, batch, stage, person=None, via="web", at=at)
    return batch
