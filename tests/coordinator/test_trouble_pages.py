"""What is wrong with it, on the pages and over the API."""

from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bins.models import Amendment, Batch, Decision, MaturityResult, Place, ToldSymptom, Visit
from bins.process.causes import Cause
from bins.process.findings import Band
from bins.process.remedies import ACTS, Act
from bins.process.symptom import Symptom
from coordinator.cause_words import CAUSES, sure
from coordinator.trouble_words import BANDS, MEASURED, PLAIN, SYMPTOMS, remedy
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, put_in, visit
from tests.cast import NOW, Cast
from tests.coordinator.test_care_pages import as_, at, form_of, uid_in, words
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded

LATER = NOW + 30 * DAY


@pytest.fixture
def lot(cast: Cast) -> Any:
    """The lot in hatch A, open for a month and half full."""
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        visit(cast, here, LATER - DAY, level="half")
    go_outside()
    with time_machine.travel(LATER, tick=False):
        yield batch


def tell(client: Client, cast: Cast, lot: Batch, **sent: object) -> Any:
    form = form_of(client.get(at(cast, "trouble", lot.uid)).content.decode(), at(cast, "trouble", lot.uid))
    return client.post(at(cast, "trouble", lot.uid), {"uid": uid_in(form), **sent})


def test_a_visit_with_trouble_leads_to_the_likely_cause_and_a_task(cast: Cast, lot: Batch) -> None:
    caretaker = as_(cast.caretaker)
    form = form_of(caretaker.get(at(cast, "today")).content.decode(), at(cast, "today"))
    sent = {"uid": uid_in(form), "drum": str(cast.drum.uid), "turned": "no", "trouble": "rotten"}
    answer = caretaker.post(at(cast, "today"), sent)
    assert answer.url == at(cast, "trouble", lot.uid)
    said = words(caretaker.get(answer.url))
    assert "Most likely: it is too wet." in said
    assert "What to do" in said
    assert "L of browns" in said
    assert "Smells rotten, like old eggs or cabbage." in said
    assert "First close and latch both hatches." in said, "the cautions stand beside the turning"
    listed = words(caretaker.get(at(cast, "today")))
    assert "Drum 1, hatch A: it is too wet." in listed
    assert "Why, and what else it could be" in listed


def test_a_visit_with_nothing_wrong_goes_back_to_the_list(cast: Cast, lot: Batch) -> None:
    caretaker = as_(cast.caretaker)
    form = form_of(caretaker.get(at(cast, "today")).content.decode(), at(cast, "today"))
    sent = {"uid": uid_in(form), "drum": str(cast.drum.uid), "turned": "yes", "trouble": "nothing"}
    assert caretaker.post(at(cast, "today"), sent).url == at(cast, "today")
    assert "Nothing is known to be wrong with this lot." in words(caretaker.get(at(cast, "trouble", lot.uid)))


def test_looking_closer_tells_several_things_at_once_and_a_tick_does_the_remedy(cast: Cast, lot: Batch) -> None:
    caretaker = as_(cast.caretaker)
    answer = tell(caretaker, cast, lot, symptoms=["rotten", "leaking"], squeeze="wet", temperature="24,5", air="20")
    assert answer.url == at(cast, "trouble", lot.uid)
    page = caretaker.get(answer.url).content.decode()
    assert "Dark liquid: never on leaves that are eaten." in page
    with inside(cast.building.uid) as here:
        decision = Decision.objects.within(here).proposed().get(rule="trouble")
        assert set(ToldSymptom.objects.within(here).values_list("kind", flat=True)) == {"rotten", "leaking"}
    go_outside()
    assert caretaker.post(at(cast, "decision", decision.uid), {"answer": "yes"}).status_code == 302
    with inside(cast.building.uid) as here:
        assert Amendment.objects.within(here).get().millilitres == 1000 * decision.figures["browns_litres"]
    go_outside()
    assert "Nothing is known to be wrong with this lot." in words(caretaker.get(answer.url))
    history = words(caretaker.get(at(cast, "batch", lot.uid)))
    assert "Dark liquid runs out." in history
    assert "Most likely: it is too wet." in history


def test_well_again_is_one_tap(cast: Cast, lot: Batch) -> None:
    caretaker = as_(cast.caretaker)
    tell(caretaker, cast, lot, symptoms=["matted"])
    assert "It is well again" in words(caretaker.get(at(cast, "trouble", lot.uid)))
    tell(caretaker, cast, lot, well="yes")
    assert "Nothing is known to be wrong with this lot." in words(caretaker.get(at(cast, "trouble", lot.uid)))
    assert "Well again." in words(caretaker.get(at(cast, "batch", lot.uid)))


def test_larvae_are_left_alone(cast: Cast, lot: Batch) -> None:
    caretaker = as_(cast.caretaker)
    tell(caretaker, cast, lot, symptoms=["larvae"], squeeze="wet")
    said = words(caretaker.get(at(cast, "trouble", lot.uid)))
    assert "larvae of the soldier fly are at work, and they help." in said
    assert "Leave them alone." in said


def test_a_rat_told_shuts_nothing_until_somebody_says_that_they_saw_it(cast: Cast, lot: Batch) -> None:
    caretaker = as_(cast.caretaker)
    tell(caretaker, cast, lot, symptoms=["rodents"])
    page = caretaker.get(at(cast, "trouble", lot.uid)).content.decode()
    assert "Close every gap wider than 5 mm" in page
    assert "licensed pest control" in page
    with inside(cast.building.uid) as here:
        decision = Decision.objects.within(here).proposed().get(rule="trouble")
        assert not Place.objects.within(here).filter(is_quarantined=True).exists()
    go_outside()
    assert "I saw it: shut both hatches" in form_of(page, at(cast, "decision", decision.uid))
    caretaker.post(at(cast, "decision", decision.uid), {"answer": "yes"})
    with inside(cast.building.uid) as here:
        assert Place.objects.within(here).filter(drum=cast.drum, is_quarantined=True).count() == 2
    go_outside()
    assert "the brown bin by the gate" in words(as_(cast.resident).get(at(cast, "hatch", cast.drum.uid)))


def test_faults_are_named_and_what_was_ticked_is_kept(cast: Cast, lot: Batch) -> None:
    caretaker = as_(cast.caretaker)
    answer = tell(caretaker, cast, lot, symptoms=["rotten"], temperature="hot")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert 'value="rotten" checked' in page
    assert "A number from -60 to 100 is needed." in page
    nothing = tell(caretaker, cast, lot)
    assert nothing.status_code == 422
    assert "Tick what you see, or measure something." in nothing.content.decode()
    with inside(cast.building.uid) as here:
        assert Visit.objects.within(here).count() == 1


def test_the_same_form_sent_twice_counts_once_and_other_values_under_its_uid_are_refused(
    cast: Cast, lot: Batch
) -> None:
    caretaker, uid = as_(cast.caretaker), str(uuid4())
    for symptoms, status in ((["sour"], 302), (["sour"], 302), (["dry"], 422)):
        assert caretaker.post(at(cast, "trouble", lot.uid), {"uid": uid, "symptoms": symptoms}).status_code == status
    with inside(cast.building.uid) as here:
        assert ToldSymptom.objects.within(here).get().kind == "sour"


def test_the_committee_reads_it_and_tells_nothing_a_resident_does_neither(cast: Cast, lot: Batch) -> None:
    tell(as_(cast.caretaker), cast, lot, symptoms=["rotten"])
    page = as_(cast.committee).get(at(cast, "trouble", lot.uid))
    assert "Most likely: it is too wet." in words(page)
    assert "Look closer" not in words(page)
    assert as_(cast.committee).post(at(cast, "trouble", lot.uid), {}).status_code == 404
    assert as_(cast.resident).get(at(cast, "trouble", lot.uid)).status_code == 404


def test_an_ended_lot_has_no_trouble_any_more(cast: Cast, lot: Batch) -> None:
    with inside(cast.building.uid) as here:
        put_in(here, Batch.objects.within(here).get(pk=lot.pk), "discarded", LATER)
    go_outside()
    assert as_(cast.caretaker).get(at(cast, "trouble", lot.uid)).status_code == 404


def test_the_page_takes_the_same_queries_however_much_was_told(cast: Cast, lot: Batch) -> None:
    caretaker = as_(cast.caretaker)
    tell(caretaker, cast, lot, symptoms=["rotten"])
    with CaptureQueriesContext(connection) as few:
        caretaker.get(at(cast, "trouble", lot.uid))
    for symptoms in (["leaking", "wet"], ["flies"], ["smell"]):
        tell(caretaker, cast, lot, symptoms=symptoms)
    with CaptureQueriesContext(connection) as many:
        caretaker.get(at(cast, "trouble", lot.uid))
    assert len(few) == len(many)


def test_the_api_tells_and_reads_the_same(cast: Cast, lot: Batch) -> None:
    with inside(cast.building.uid) as here:
        token = give_token(here, cast.caretaker)
    go_outside()
    base = f"/api/buildings/{cast.building.uid}/"
    client = Client(headers={"authorization": f"Bearer {token}"})
    sent = {
        "uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": False,
        "readings": [{"batch": str(lot.uid), "symptoms": ["ammonia"], "squeeze": "right"}],
    }  # fmt: skip
    visit_ = client.post(f"{base}visits/", sent, content_type="application/json")
    assert (visit_.status_code, visit_.json()["trouble"]) == (201, "ammonia")
    found = client.get(f"{base}batches/{lot.uid}/trouble/").json()
    assert found["symptoms"] == ["ammonia"]
    assert found["suspects"][0]["cause"] == "too_few_browns"
    assert found["suspects"][0]["supports"][0]["clue"] == "ammonia"
    assert [step["act"] for step in found["steps"]] == ["add_browns", "turn"]
    listed = client.get(f"{base}decisions/").json()
    assert [(one["uid"], one["rule"], one["reason"]) for one in listed] == [
        (found["decision"], "trouble", "too_few_browns")
    ]
    answered = client.post(
        f"{base}decisions/{found['decision']}/answer/", {"answer": "yes"}, content_type="application/json"
    )
    assert answered.json()["decision"]["state"] == "applied"
    assert client.get(f"{base}batches/{uuid4()}/trouble/").status_code == 404


def test_the_one_measurement_that_would_decide_most_stands_on_the_list_with_its_reason(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        put_in(here, batch, "composting", NOW)
    go_outside()
    with time_machine.travel(NOW + 60 * DAY, tick=False):
        said = words(as_(cast.caretaker).get(at(cast, "today")))
    assert "If you measure one thing this week" in said
    assert "Press a handful hard and write down what comes out. Only this is missing before it may rest." in said


def test_seeds_are_compared_with_plain_soil_and_the_history_says_how(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = put_in(here, put_in(here, batch_in(here, cast, "A"), "composting", NOW), "curing", NOW)
    go_outside()
    caretaker = as_(cast.caretaker)
    begun = {"uid": str(uuid4()), "kind": "seeds"}
    with time_machine.travel(NOW + DAY, tick=False):
        assert caretaker.post(at(cast, "batch-act", batch.uid, "tests"), begun).status_code == 302
    with time_machine.travel(NOW + 9 * DAY, tick=False):
        sent: dict[str, object] = {"uid": str(uuid4()), "sown": "20", "sprouted": "18"}
        wrong = caretaker.post(at(cast, "test-result", begun["uid"]), sent | {"soil_sown": "20", "root_mm": "25"})
        assert wrong.status_code == 422
        assert "Of the plain soil two numbers are needed" in wrong.content.decode()
        soil = {"soil_sown": "20", "soil_sprouted": "20", "root_mm": "25", "soil_root_mm": "30"}
        assert caretaker.post(at(cast, "test-result", begun["uid"]), sent | soil).status_code == 302
        said = words(caretaker.get(at(cast, "batch", batch.uid)))
    assert "That is 90 % of what sprouted in plain soil" in said
    assert "Germination index 75, roots counted in (good is 70, very good 80)." in said
    with inside(cast.building.uid) as here:
        row = MaturityResult.objects.within(here).get()
        assert (row.soil_sown, row.soil_sprouted, row.root_mm, row.soil_root_mm) == (20, 20, 25, 30)


def test_every_cause_clue_and_step_has_words(cast: Cast) -> None:
    assert set(CAUSES) == set(Cause)
    assert set(BANDS) == set(Band)
    assert set(SYMPTOMS) == {str(one) for one in Symptom}
    with_figure_only = {Act.TAKE_OUT, Act.TURN, Act.TURN_AGAIN, Act.WAIT}
    assert set(PLAIN) | with_figure_only == set(Act)
    figures = {
        "browns_litres": 8, "lacking_litres": 3, "water_litres": 4, "scraps_litres": 9, "fill_litres": 20,
        "cover_litres": 5, "out_litres": 10, "turns": 5, "every_days": 2, "wait_days": 7,
    }  # fmt: skip
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        for cause in ACTS:
            assert all(remedy(cause, figures, batch, here)), cause
            assert all(remedy(cause, {}, batch, here)), cause
            assert sure(cause, 0.7).startswith("Most likely: ")
    assert sure("too_wet", 0.4) == "Probably: it is too wet."
    assert sure("too_wet", 0.3) == "Perhaps: it is too wet."
    assert set(MEASURED) <= set(Act)
