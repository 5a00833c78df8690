"""What Wanda does at the drums: looks and turns every third day, answers what the nights asked, reads the tests."""

import datetime as dt

from bins.care.closing import Opening, open_hatch
from bins.care.due import work_due
from bins.care.maturity_tests import BeginTest, ReadTest, begin_test, read_test
from bins.care.visit import CareVisit, record_visit
from bins.decisions.settle import confirm
from bins.hatch import DrumState, drum_states
from bins.models import Batch, Decision, MaturityTest
from bins.process.asking import Wanted
from bins.process.proposal import Reason
from bins.process.stage import Stage
from households.models import Building, Person

from . import heap, trouble
from .block import AIR_TENTHS_C, uid

EVERY = 3  # days between two visits to a drum
READS_EVERY = 6  # days between two readings of the closed lots
THINKS_IT_OVER = dt.timedelta(days=2)


def look_after(here: Building, wanda: Person, number: int, now: dt.datetime) -> None:
    """A day of care, from `now` on: first what was asked, then the drums whose day it is."""
    _answer(here, wanda, now)
    states = {state.drum.uid: state for state in drum_states(here)}
    for drum_uid, work in work_due(here, now).items():
        state = states[drum_uid]
        for place in work.to_open[:1]:
            told = Opening(uid(f"tag {number} {state.drum.number}"), place.uid)
            open_hatch(building=here, told=told, person=wanda, via="web", now=now)
        later = now + dt.timedelta(minutes=10 * state.drum.number)
        if (number + state.drum.number) % EVERY == 0:
            _visit(here, wanda, state, number, later)
        for running in work.running:
            if running.is_due:
                _read(here, wanda, running.test, later)
        for batch, wanted in work.asked:
            if wanted is Wanted.MATURITY_TEST:
                begun = BeginTest(uid(f"test {number} {batch.uid}"), batch.uid, MaturityTest.Kind.BAG, None)
                begin_test(building=here, told=begun, person=wanda, via="web", now=later)


def _answer(here: Building, wanda: Person, now: dt.datetime) -> None:
    """Say yes to what the nights proposed two days ago. A hatch that has nowhere to go on stays open for now."""
    asked = Decision.objects.within(here).proposed().filter(made_at__lt=now - THINKS_IT_OVER)
    for decision in asked.exclude(reason=Reason.NO_EMPTY_PLACE).order_by("made_at", "uid"):
        if decision.from_stage != decision.to_stage or decision.reason == Reason.FRESH_TOO_MUCH:
            confirm(building=here, uid=decision.uid, person=wanda, via="web", now=now)


def _visit(here: Building, wanda: Person, state: DrumState, number: int, now: dt.datetime) -> None:
    raw = {
        "uid": str(uid(f"visit {number} {state.drum.number}")),
        "drum": str(state.drum.uid),
        "turned": "yes",
        "level": "",
        "trouble": "nothing",
    }
    if state.open is not None and state.open.batch is not None:
        raw["level"] = heap.level(state.open.batch, state.open.place.litres, now)
    readings = []
    if (number + state.drum.number) % READS_EVERY == 0:
        closed = Batch.objects.within(here).filter(drum=state.drum, stage__in=[Stage.COMPOSTING, Stage.CURING])
        readings = [_reading(batch, state.drum.number, number, now) for batch in closed.order_by("uid")]
    if any(reading["smell"] == "yes" for reading in readings):
        raw["trouble"] = "smell"
    told = CareVisit.from_raw(raw | {"air": AIR_TENTHS_C / 10, "readings": readings})
    record_visit(building=here, told=told, person=wanda, via="web", now=now)
    trouble.find_wrong_items(here, wanda, state.drum, told.uid, number, now)


def _reading(batch: Batch, drum: int, number: int, now: dt.datetime) -> dict[str, str]:
    is_bad = batch.stage == Stage.COMPOSTING and trouble.has_gone_bad(drum, number)
    return {
        "batch": str(batch.uid),
        "temperature": str((AIR_TENTHS_C + heap.above_air_tenths_c(batch, drum, now)) / 10),
        "squeeze": "wet" if is_bad else "right",
        "smell": "yes" if is_bad else "no",
    }


def _read(here: Building, wanda: Person, test: MaturityTest, now: dt.datetime) -> None:
    told = ReadTest.from_raw(
        {"uid": str(uid(f"result {test.uid}")), "test": str(test.uid), "kind": test.kind, "bad_smell": "no"}
    )
    read_test(building=here, told=told, person=wanda, via="web", now=now)
