"""Trouble told at a visit: kept, thought about at once and by the night, and mended by a tick."""

from datetime import timedelta
from typing import Any
from uuid import uuid4, uuid5

import pytest

from bins.care.moving import Move, move
from bins.care.visit import CareVisit
from bins.care.whats_wrong import look
from bins.cases.case_steps import Step, take_step
from bins.cases.cases import Report, receive
from bins.decisions import night
from bins.decisions.settle import confirm, decline
from bins.hatch import drum_states
from bins.models import Amendment, Batch, Case, Decision, Place, ToldSymptom, Visit
from bins.process.causes import Cause
from bins.process.proposal import Rule
from bins.process.symptom import Symptom
from bins.records import Refused
from households.models import Building
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, by, close, put_in, visit
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def told(batch: Batch, *symptoms: str, **more: object) -> list[dict[str, object]]:
    return [{"batch": str(batch.uid), "symptoms": list(symptoms)} | more]


def open_trouble(here: Building) -> list[Decision]:
    rows = Decision.objects.within(here).proposed().filter(rule="trouble")
    return list(rows.select_related("batch").order_by("pk"))


def run_night(here: Building, at: Any) -> None:
    night.apply(here, night.decide(night.gather(here, at)), at, uuid5(here.uid, at.isoformat()))


def test_what_is_told_of_a_lot_stands_on_the_list_at_once_with_its_amounts(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        row = visit(cast, here, NOW + DAY, level="half", readings=told(batch, "rotten", "leaking", squeeze="wet"))
        assert row.trouble == "rotten", "the visit counts as one that found something wrong"
        assert list(row.symptoms.order_by("pk").values_list("kind", flat=True)) == ["rotten", "leaking"]
        (decision,) = open_trouble(here)
        assert (decision.batch, decision.reason, decision.version) == (batch, "too_wet", "trouble-1")
        assert decision.to_stage == decision.from_stage == "filling"
        # 50 L at 0.6 kg/L and 70 %, with the site's browns; 40 L fit under 90 %.
        assert decision.figures["browns_litres"] + decision.figures.get("lacking_litres", 0) > 0
        found = look(here, batch, NOW + DAY)
        assert (found.suspects[0].cause, found.task) == (Cause.TOO_WET, decision)
        assert found.findings.symptoms == {Symptom.ROTTEN, Symptom.LEAKING}


def test_trouble_without_a_lot_is_laid_to_the_one_where_scraps_go_in(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older = batch_in(here, cast, "A")
        close(cast, here, older)
        younger = batch_in(here, cast, "B")
        visit(cast, here, NOW + DAY, trouble="flies")
        assert ToldSymptom.objects.within(here).get().batch == younger
        assert [one.reason for one in open_trouble(here)] == ["bare_scraps"]
        visit(cast, here, NOW + DAY, trouble="wrong_item")
        visit(cast, here, NOW + DAY)
        assert ToldSymptom.objects.within(here).count() == 1, "a wrong item and nothing wrong are no symptoms"


def test_old_words_for_trouble_are_still_taken_and_mean_something(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for hours, (trouble, reason) in enumerate(
            (("smell", "too_wet"), ("wet", "too_wet"), ("animals", "bare_scraps"), ("broken", "worn"))
        ):
            batch = batch_in(here, cast, "A")
            now = NOW + 30 * DAY + hours * timedelta(hours=1)
            visit(cast, here, now, readings=told(batch, "well"))
            visit(cast, here, now + timedelta(minutes=1), trouble=trouble)
            assert [one.reason for one in open_trouble(here)] == [reason]


def test_more_words_change_the_answer_and_one_proposal_stands(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        month = NOW + 30 * DAY
        visit(cast, here, month, trouble="smell")
        (first,) = open_trouble(here)
        visit(cast, here, month + timedelta(hours=1), readings=told(batch, "ammonia"))
        (second,) = open_trouble(here)
        first.refresh_from_db()
        assert (first.state, first.reason, second.reason) == ("overtaken", "too_wet", "too_few_browns")
        visit(cast, here, month + timedelta(hours=2), readings=told(batch, "ammonia"))
        assert [one.pk for one in open_trouble(here)] == [second.pk], "the same again only refreshes its figures"


def test_well_again_takes_the_task_away(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        visit(cast, here, NOW + DAY, readings=told(batch, "rotten", squeeze="wet"))
        visit(cast, here, NOW + 2 * DAY, readings=told(batch, "well"))
        assert open_trouble(here) == []
        assert look(here, batch, NOW + 2 * DAY).suspects == ()
        run_night(here, NOW + 3 * DAY)
        assert open_trouble(here) == []


def test_the_night_keeps_the_task_until_nobody_has_said_it_for_a_fortnight(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        visit(cast, here, NOW + DAY, readings=told(batch, "matted"))
        (decision,) = open_trouble(here)
        run_night(here, NOW + 15 * DAY)
        assert [one.pk for one in open_trouble(here)] == [decision.pk]
        run_night(here, NOW + 16 * DAY)
        assert open_trouble(here) == []


def test_done_writes_browns_and_the_turn_and_what_was_seen_before_is_over(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        visit(cast, here, NOW + DAY, level="half", readings=told(batch, "rotten", squeeze="wet"), turned="no")
        (decision,) = open_trouble(here)
        settled = confirm(building=here, uid=decision.uid, person=cast.caretaker, via="web", now=NOW + 2 * DAY)
        assert settled.is_applied
        added = Amendment.objects.within(here).get()
        assert (added.material, added.millilitres) == (
            cast.drum.site.browns, round(1000 * decision.figures["browns_litres"]),
        )  # fmt: skip
        turn = Visit.objects.within(here).get(turned=True)
        assert (turn.trouble, turn.attribution.person) == ("nothing", cast.caretaker)
        assert look(here, batch, NOW + 2 * DAY).suspects == ()
        run_night(here, NOW + 3 * DAY)
        assert open_trouble(here) == []
        again = confirm(building=here, uid=decision.uid, person=cast.caretaker, via="web", now=NOW + 3 * DAY)
        assert again.is_applied
        assert Amendment.objects.within(here).count() == 1, "answering twice does it once"
        visit(cast, here, NOW + 4 * DAY, readings=told(batch, "rotten"))
        assert [one.reason for one in open_trouble(here)] == ["too_wet"], "who says it is still there is heard at once"


def test_a_lot_in_a_curing_bin_is_stirred_and_no_drum_is_turned_by_that(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = put_in(here, batch_in(here, cast, "A"), "composting", NOW)
        tub = Place.objects.create(building=here, kind="curing_bin", site=cast.drum.site, letter="K", litres=80)
        move(told=Move.from_raw({"uid": uuid4(), "batch": batch.uid, "to": tub.uid}), **by(cast, here, NOW))
        visit(cast, here, NOW + DAY, turned="no", readings=told(batch, "matted"))
        confirm(building=here, uid=open_trouble(here)[0].uid, person=cast.caretaker, via="web", now=NOW + DAY)
        assert not Visit.objects.within(here).filter(turned=True).exists()


def test_not_yet_leaves_it_and_writes_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        visit(cast, here, NOW + DAY, level="half", readings=told(batch, "rotten", squeeze="wet"))
        decline(building=here, uid=open_trouble(here)[0].uid, person=cast.caretaker, now=NOW + DAY)
        run_night(here, NOW + 2 * DAY)
        assert open_trouble(here) == [], "what a person has answered is left at rest"
        assert not Amendment.objects.within(here).exists()


def test_a_report_of_a_rat_stops_nothing_and_a_sighting_confirmed_at_the_drum_does(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        report = Report.from_raw({"uid": uuid4(), "kind": "animal", "drum": cast.drum.uid})
        receive(building=here, told=report, language="en", now=NOW)
        assert drum_states(here)[0].open is not None
        visit(cast, here, NOW + DAY, readings=told(batch, "rodents"))
        (decision,) = open_trouble(here)
        assert decision.reason == "way_in"
        assert drum_states(here)[0].open is not None, "telling is no confirmation"
        with pytest.raises(Refused, match="name"):
            confirm(building=here, uid=decision.uid, person=None, via="web", now=NOW + DAY)
        decision.refresh_from_db()
        assert decision.state == "proposed"
        confirm(building=here, uid=decision.uid, person=cast.caretaker, via="web", now=NOW + DAY)
        assert drum_states(here)[0].open is None
        assert all(Place.objects.within(here).filter(drum=cast.drum).values_list("is_quarantined", flat=True))


def test_a_case_confirmed_at_the_drum_is_thought_about_by_the_night(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        report = Report.from_raw({"uid": uuid4(), "kind": "leak", "drum": cast.drum.uid})
        receive(building=here, told=report, language="en", now=NOW)
        case = Case.objects.within(here).get()
        step = Step.from_raw({"uid": uuid4(), "what": "confirmed", "words": "A puddle under it."})
        take_step(building=here, case_uid=case.uid, told=step, person=cast.caretaker, via="web", now=NOW + DAY)
        assert ToldSymptom.objects.within(here).get().kind == "wet"
        run_night(here, NOW + 2 * DAY)
        assert [one.reason for one in open_trouble(here)] == ["too_wet"]


def test_the_committee_is_not_asked_whether_a_drum_may_be_mended(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        cast.drum.site.decides = "committee"
        cast.drum.site.save(update_fields=["decides"])
        batch = batch_in(here, cast, "A")
        visit(cast, here, NOW + DAY, readings=told(batch, "matted"))
        (decision,) = open_trouble(here)
        caretaker_only = cast.neighbour  # on no committee
        confirm(building=here, uid=decision.uid, person=caretaker_only, via="web", now=NOW + DAY)
        decision.refresh_from_db()
        assert decision.state == "applied"


def test_told_twice_is_kept_once_and_a_lot_of_elsewhere_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        uid = uuid4()
        for _ in range(2):
            visit(cast, here, NOW + DAY, uid=str(uid), readings=told(batch, "sour"))
        assert ToldSymptom.objects.within(here).count() == 1
        assert Decision.objects.within(here).filter(rule=str(Rule.TROUBLE)).count() == 1
        with pytest.raises(Refused):
            visit(cast, here, NOW + DAY, readings=[{"batch": str(uuid4()), "symptoms": ["sour"]}])


def test_words_that_nobody_knows_and_well_with_a_complaint_are_refused() -> None:
    one = str(uuid4())
    for symptoms in (["gloomy"], ["well", "rotten"], "rotten", [1]):
        with pytest.raises(Refused) as refused:
            CareVisit.from_raw({"uid": uuid4(), "drum": uuid4(), "readings": [{"batch": one, "symptoms": symptoms}]})
        assert set(refused.value.errors) == {f"symptoms-{one}"}
