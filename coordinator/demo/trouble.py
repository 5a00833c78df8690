"""What goes wrong in the eighteen months: a lot gone bad, a neighbour's word, wrong items, a hatch called early."""

import datetime as dt
from uuid import UUID

from django.db.models import Q

from bins.care.discarding import Discard, discard
from bins.care.stepping import Step, say_finished
from bins.cases import case_steps, cases
from bins.intake.wrong_items import Found, record_wrong_item
from bins.models import Batch, Case, Decision, Drum, StageChange
from bins.process.proposal import Reason, Rule
from bins.process.stage import Stage
from households.models import Building, Person

from .block import uid

BAD_DRUM, BAD_FROM, THROWN_OUT_ON = 2, 176, 188  # a lot that stays wet and smells
REPORTED_ON, CLOSED_ON = 184, 189  # a neighbour smells it too
STICKERS_DRUM, STICKERS_FROM, STICKERS_UNTIL = 1, 248, 257  # three visits running
PLASTIC_DRUM, PLASTIC_ON = 3, 351
LAST_REPORT_ON = 548  # of flies, on the last evening: nobody has looked yet
EARLY_AFTER = dt.timedelta(days=9)  # of resting, when the open hatch was about to be full


def has_gone_bad(drum: int, number: int) -> bool:
    """Whether the lot that works in a drum smells on a day."""
    return drum == BAD_DRUM and BAD_FROM <= number <= THROWN_OUT_ON


def happen(here: Building, wanda: Person, number: int, now: dt.datetime) -> None:
    """What goes wrong on a day, and what is done about it."""
    match number:
        case _ if number == REPORTED_ON:
            _report(here, Case.Kind.SMELL, "It smells in the stairs by the cellar door.", number, now)
            _step(here, wanda, number, "looked", "", now + dt.timedelta(hours=3))
        case _ if number == THROWN_OUT_ON:
            _throw_out(here, wanda, now)
            words = "The lot that smelled was taken out and the floor was washed."
            _step(here, wanda, number, "done", words, now + dt.timedelta(hours=1))
        case _ if number == CLOSED_ON:
            _step(here, wanda, number, "closed", "No smell today. Thank you for telling us.", now)
        case _ if number == LAST_REPORT_ON:
            _report(here, Case.Kind.OTHER, "Small flies round drum 3.", number, now + dt.timedelta(hours=11))
        case _:
            _finish_early(here, wanda, number, now)


def find_wrong_items(here: Building, wanda: Person, drum: Drum, visit: UUID, number: int, now: dt.datetime) -> None:
    """What a visit finds that does not belong there."""
    if drum.number == STICKERS_DRUM and STICKERS_FROM <= number < STICKERS_UNTIL:
        raw = {"item": "stickers", "grams": "15", "taken_out": "yes"}
    elif drum.number == PLASTIC_DRUM and number in (PLASTIC_ON, PLASTIC_ON + 1, PLASTIC_ON + 2):
        raw = {"item": "plastic", "millilitres": "500", "taken_out": "yes"}
    else:
        return
    raw |= {"uid": str(uid(f"found {number} {drum.number}")), "drum": str(drum.uid), "visit": str(visit)}
    record_wrong_item(building=here, told=Found.from_raw(raw), person=wanda, via="web", now=now)


def _report(here: Building, kind: str, words: str, number: int, now: dt.datetime) -> None:
    raw = {"uid": str(uid(f"report {number}")), "kind": kind, "words": words}
    if kind == Case.Kind.SMELL:
        raw["drum"] = str(Drum.objects.within(here).get(number=BAD_DRUM).uid)
    cases.receive(building=here, told=cases.Report.from_raw(raw), language="en", now=now)


def _step(here: Building, wanda: Person, number: int, what: str, words: str, now: dt.datetime) -> None:
    case = Case.objects.within(here).open().get(kind=Case.Kind.SMELL)
    told = case_steps.Step(uid(f"step {number}"), what, words, None)
    case_steps.take_step(building=here, case_uid=case.uid, told=told, person=wanda, via="web", now=now)


def _throw_out(here: Building, wanda: Person, now: dt.datetime) -> None:
    batch = Batch.objects.within(here).get(drum__number=BAD_DRUM, stage=Stage.COMPOSTING)
    told = Discard.from_raw(
        {
            "uid": str(uid("thrown out")),
            "batch": str(batch.uid),
            "reason": "It stayed wet and smelled for two weeks.",
            "litres": "300",
            "destination": "the brown bins, over two weeks",
        }
    )
    discard(building=here, told=told, person=wanda, via="web", now=now)


def _finish_early(here: Building, wanda: Person, number: int, now: dt.datetime) -> None:
    """Once, when a clash was foreseen and the other lot of that drum has rested a while: her word, with its reason."""
    if StageChange.objects.within(here).filter(cause=StageChange.Cause.OVERRIDE).exists():
        return
    proposed = Decision.objects.within(here).proposed()
    warned = proposed.filter(Q(rule=Rule.CLASH) | Q(reason=Reason.NO_EMPTY_PLACE)).values("batch__drum")
    for batch in Batch.objects.within(here).filter(drum__in=warned, stage=Stage.CURING).order_by("uid"):
        rests = StageChange.objects.within(here).filter(batch=batch, to_stage=Stage.CURING).latest("counts_at")
        if now - rests.counts_at >= EARLY_AFTER:
            reason = "Dark and crumbly, no smell. We need the hatch before the open one is full."
            told = Step(uid(f"early {number}"), batch.uid, reason)
            say_finished(building=here, told=told, person=wanda, via="web", now=now)
            return
