"""The report of a neighbour on pages and API: without an account, by reference, and naming nobody."""

import datetime as dt
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bins.cases.cases import MOST_A_DAY
from bins.hatch import drum_states
from bins.models import Case
from households.models import Building, Notice
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded


@pytest.fixture
def block(cast: Cast) -> Iterator[Cast]:
    go_outside()
    with time_machine.travel(NOW + dt.timedelta(hours=1), tick=False):
        yield cast


def signed_in(cast: Cast, who: str) -> Client:
    client = Client()
    client.force_login(account_of(cast.people[who]), "allauth.account.auth_backends.AuthenticationBackend")
    return client


def send(cast: Cast, client: Client | None = None, **raw: Any) -> Any:
    values = {"uid": str(uuid4()), "kind": "animal", "drum": str(cast.drum.uid), "words": "Two rats"} | raw
    return (client or Client()).post(reverse("report", args=[cast.building.uid]), values)


def only_case(cast: Cast) -> Case:
    with inside(cast.building.uid) as here:
        case: Case = Case.objects.within(here).get()
    go_outside()
    return case


@pytest.mark.parametrize("page", ["hatch", "accepted", "report-drum"])
def test_a_neighbours_way_back_is_the_drum_whose_sign_was_scanned_and_no_wall(block: Cast, page: str) -> None:
    uid, drum = block.building.uid, block.drum.uid
    shown = Client().get(reverse(page, args=[uid, drum])).content.decode()
    assert f'<p class="house"><a href="{reverse("hatch", args=[uid, drum])}">' in shown
    at_home = signed_in(block, "resident").get(reverse(page, args=[uid, drum])).content.decode()
    assert f'<p class="house"><a href="{reverse("building", args=[uid])}">' in at_home


def test_without_a_drum_in_the_address_it_is_the_page_for_reports_and_where_nothing_is_the_first_page(
    block: Cast,
) -> None:
    uid = block.building.uid
    shown = Client().get(reverse("week", args=[uid])).content.decode()
    assert f'<p class="house"><a href="{reverse("report", args=[uid])}">' in shown
    missing = Client().get(reverse("hatch", args=[uid, uuid4()]))
    assert missing.status_code == 404
    assert f'<a class="button" href="{reverse("home")}">' in missing.content.decode()


def test_a_stranger_reports_and_reads_with_the_reference_what_was_done_and_no_name(block: Cast) -> None:
    hatch = Client().get(reverse("hatch", args=[block.building.uid, block.drum.uid])).content.decode()
    address = reverse("report-drum", args=[block.building.uid, block.drum.uid])
    assert address in hatch
    form = Client().get(address).content.decode()
    assert f'value="{block.drum.uid}" checked' in form
    assert "within 24 hours" in form
    assert "licensed pest control" in form
    assert "call the fire service" in form
    sent = send(block)
    case = only_case(block)
    assert sent.headers["Location"] == reverse("report-status", args=[block.building.uid, case.reference])
    answer = {"uid": str(uuid4()), "what": "done", "words": "Called the pest control"}
    caretaker = signed_in(block, "caretaker")
    assert caretaker.post(reverse("case", args=[block.building.uid, case.uid]), answer).status_code == 302
    page = Client().get(sent.headers["Location"]).content.decode()
    assert case.reference in page
    assert "Called the pest control" in page
    assert block.caretaker.name not in page
    assert "Two rats" not in page, "what a neighbour wrote is for the person in charge"


def test_the_reference_is_found_from_the_form_and_a_wrong_one_is_not_there(block: Cast) -> None:
    send(block)
    case, page = only_case(block), reverse("report", args=[block.building.uid])
    found = Client().get(page, {"reference": case.reference.lower()})
    assert found.headers["Location"] == reverse("report-status", args=[block.building.uid, case.reference])
    wrong = Client().get(page, {"reference": "AAAAAA"})
    assert wrong.status_code == 404
    assert 'value="AAAAAA" aria-invalid="true"' in wrong.content.decode(), "it can be typed again"
    elsewhere = reverse("report-status", args=[block.elsewhere.uid, case.reference])
    assert Client().get(elsewhere).status_code == 404


def test_a_refused_report_keeps_what_was_written_and_names_the_field(block: Cast) -> None:
    answer = send(block, kind="other", words="", email="x")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'id="words-error"' in page
    assert 'id="email-error"' in page
    assert 'value="x"' in page


@pytest.mark.parametrize(("phone", "says"), [("030 12 34", "030 12 34"), ("", "tell the person in charge")])
def test_past_ten_a_day_the_page_says_please_phone(block: Cast, phone: str, says: str) -> None:
    with inside(block.building.uid) as here:
        Building.objects.filter(pk=here.pk).update(contact_phone=phone)
    go_outside()
    for _number in range(MOST_A_DAY):
        assert send(block).status_code == 302
    answer = send(block, words="An eleventh")
    assert answer.status_code == 429
    assert says in answer.content.decode()
    assert "An eleventh" in answer.content.decode(), "what was written is not lost"
    assert says in Client().get(reverse("report", args=[block.building.uid])).content.decode()


def test_the_caretakers_list_opens_with_what_is_late_and_leads_to_the_case(block: Cast) -> None:
    send(block)
    case, today = only_case(block), reverse("today", args=[block.building.uid])
    page = signed_in(block, "caretaker").get(today).content.decode()
    assert reverse("case", args=[block.building.uid, case.uid]) in page
    assert "Two rats" in page
    assert ">late<" not in page
    with time_machine.travel(NOW + dt.timedelta(hours=25, seconds=1), tick=False):
        late = signed_in(block, "caretaker").get(today).content.decode()
    assert ">late<" in late
    assert "Drum 1: a rat or another animal." in late.split("</h1>")[0]


def test_confirming_at_the_drum_shuts_it_and_the_public_page_shows_the_way_out(block: Cast) -> None:
    send(block)
    hatch = reverse("hatch", args=[block.building.uid, block.drum.uid])
    assert "brown bin by the gate" not in Client().get(hatch).content.decode()
    caretaker, case = signed_in(block, "caretaker"), only_case(block)
    asked = caretaker.get(reverse("case", args=[block.building.uid, case.uid])).content.decode()
    assert "brown bin by the gate" in asked, "who shuts it sees first where people are sent"
    values = {"uid": str(uuid4()), "what": "confirmed", "words": "A rat at hatch A"}
    caretaker.post(reverse("case", args=[block.building.uid, case.uid]), values)
    with inside(block.building.uid) as here:
        assert drum_states(here)[0].open is None
    go_outside()
    assert "brown bin by the gate" in Client().get(hatch).content.decode()


def test_neighbours_read_the_promise_that_the_caretaker_sets(block: Cast) -> None:
    cases = reverse("cases", args=[block.building.uid])
    caretaker = signed_in(block, "caretaker")
    assert caretaker.post(cases, {"hours": "0", "phone": "none"}).status_code == 422
    assert caretaker.post(cases, {"hours": "4", "phone": "030 1"}).status_code == 302
    assert "within 4 hours" in Client().get(reverse("report", args=[block.building.uid])).content.decode()


def test_the_api_takes_a_report_without_a_token_and_answers_by_reference(block: Cast) -> None:
    address = f"/api/buildings/{block.building.uid}/reports/"
    body = {"uid": str(uuid4()), "kind": "leak", "drum": str(block.drum.uid), "email": "n@x.invalid"}
    first = Client().post(address, body, content_type="application/json")
    again = Client().post(address, body, content_type="application/json")
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["reference"] == again.json()["reference"]
    assert set(first.json()) == {"reference", "kind", "drum", "received_at", "answer_by", "closed_at", "steps"}
    other = Client().post(address, body | {"kind": "smell"}, content_type="application/json")
    assert (other.status_code, other.json()["type"]) == (422, "/problems/uid-reused/")
    with inside(block.building.uid) as here:
        token = give_token(here, block.caretaker)
    go_outside()
    bearer = {"Authorization": f"Bearer {token}"}
    (case,) = Client().get(f"/api/buildings/{block.building.uid}/cases/", headers=bearer).json()
    assert (case["times"], case["reference"]) == (1, first.json()["reference"])
    steps = f"/api/buildings/{block.building.uid}/cases/{case['uid']}/steps/"
    closing = {"uid": str(uuid4()), "what": "closed", "words": "Wiped up"}
    closed = Client().post(steps, closing, content_type="application/json", headers=bearer)
    assert closed.status_code == 200
    read = Client().get(f"{address}{case['reference']}/").json()
    assert [(step["what"], step["words"]) for step in read["steps"]] == [("closed", "Wiped up")]
    with inside(block.building.uid) as here:
        assert Notice.objects.get(building=here, kind="case").to == "n@x.invalid"
    go_outside()


def test_the_api_says_please_phone_with_a_problem_of_its_own(block: Cast) -> None:
    address = f"/api/buildings/{block.building.uid}/reports/"
    for _number in range(MOST_A_DAY):
        send(block)
    answer = Client().post(address, {"uid": str(uuid4()), "kind": "leak"}, content_type="application/json")
    assert (answer.status_code, answer.json()["type"]) == (429, "/problems/please-phone/")
    assert Client().get("/problems/please-phone/").status_code == 200


def test_today_asks_no_more_of_the_database_for_six_reports_than_for_one(
    block: Cast, django_assert_num_queries: Any
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    counts = []
    for kinds in (["smell"], ["animal", "leak", "full", "broken", "other"]):
        for kind in kinds:
            send(block, kind=kind)
        with CaptureQueriesContext(
            connection,
        ) as found:
            signed_in(block, "caretaker").get(reverse("today", args=[block.building.uid]))
        counts.append(len(found))
    assert counts[0] == counts[1]
