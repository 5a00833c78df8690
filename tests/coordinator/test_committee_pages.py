"""The committee's page and API, the store of browns, limits and the log of a period, as people meet them."""

from collections.abc import Callable
from typing import Any
from uuid import uuid5

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bins.committee.deciding import Decided, record_decision
from bins.mixing.storing import Stored, record_stock
from bins.models import Batch, Decision
from bins.permits.limits import LimitTold, set_limit
from households.models import CommitteeDecision, Person, Site
from households.tenancy import inside
from tests.bins.permits.test_period_log import happen
from tests.cast import NOW, Cast, account_of
from tests.filled import go_outside

pytestmark = [pytest.mark.embedded, pytest.mark.django_db]

SignIn = Callable[[Person], Client]


@pytest.fixture
def client_of(cast: Cast, time_machine: Any) -> SignIn:
    time_machine.move_to(NOW, tick=False)

    def sign_in(person: Person) -> Client:
        client = Client()
        client.force_login(account_of(person), backend="allauth.account.auth_backends.AuthenticationBackend")
        return client

    return sign_in


def page(cast: Cast, client: Client, name: str, *more: Any) -> str:
    return client.get(reverse(name, args=[cast.building.uid, *more])).content.decode()


def decide(cast: Cast, number: int = 0) -> None:
    with inside(cast.building.uid) as here:
        raw = {"uid": uuid5(here.uid, f"decided {number}"), "words": "A second bin", "why": "One is full"}
        record_decision(building=here, told=Decided.from_raw(raw), by=cast.committee, via="web", now=NOW)
    go_outside()


def question(cast: Cast, decides: str) -> Decision:
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(decides=decides)
        decision: Decision = Decision.objects.create(
            building=here, batch=Batch.objects.within(here).get(), rule="7-fresh-scraps", version="days-1",
            from_stage="composting", to_stage="composting", reason="fresh_noted", figures_at=NOW, made_at=NOW,
        )  # fmt: skip
    go_outside()
    return decision


def stock(cast: Cast, litres: int, number: int = 0) -> None:
    with inside(cast.building.uid) as here:
        raw = {"uid": uuid5(here.uid, f"stock {number}"), "site": Site.objects.within(here).get().uid, "act": "count"}
        told = Stored.from_raw(raw | {"litres": litres})
        record_stock(building=here, told=told, person=cast.caretaker, via="web", now=NOW)
    go_outside()


def limit(cast: Cast, figure: int) -> None:
    with inside(cast.building.uid) as here:
        raw = {
            "uid": uuid5(here.uid, "limit"), "site": Site.objects.within(here).get().uid, "what": "browns",
            "figure": figure, "source": "Letter of the insurer", "dated": "2026-03-01",
        }  # fmt: skip
        set_limit(building=here, told=LimitTold.from_raw(raw), person=cast.caretaker, via="web", now=NOW)
    go_outside()


# The committee ----------------------------------------------------------------------------------------


def test_a_decision_is_written_down_on_the_page_and_who_decided_is_for_those_in_charge(
    cast: Cast, client_of: SignIn
) -> None:
    committee = client_of(cast.committee)
    values = {
        "uid": str(uuid5(cast.building.uid, "sent")), "about": "other", "words": "A second bin", "why": "One is full",
        "decided_on": "2026-05-02", "people": [str(cast.committee.uid), str(cast.caretaker.uid)],
    }  # fmt: skip
    assert committee.post(reverse("committee", args=[cast.building.uid]), values).status_code == 302
    shown = page(cast, committee, "committee")
    assert 'The committee last decided on May 2, 2026: <bdi translate="no">A second bin</bdi>.' in shown
    assert '<bdi translate="no">Ottilie</bdi>' in shown
    read = page(cast, client_of(cast.resident), "committee")
    assert "A second bin" in read
    assert "One is full" in read
    assert "Ottilie" not in read
    assert "Yusra" not in read
    assert "<form" not in read.split("<main")[1]
    api = reverse("api-committee-decisions", args=[cast.building.uid])
    assert len(committee.get(api).json()[0]["people"]) == 2
    assert "people" not in client_of(cast.resident).get(api).json()[0]


def test_what_is_wrong_with_a_decision_is_said_at_its_field(cast: Cast, client_of: SignIn) -> None:
    values = {"uid": str(uuid5(cast.building.uid, "sent")), "words": "Kept", "why": "", "decided_on": "2026-05-05"}
    answer = client_of(cast.committee).post(reverse("committee", args=[cast.building.uid]), values)
    assert answer.status_code == 422
    assert "What is the reason?</p>" in answer.content.decode()
    assert 'value="Kept"' in answer.content.decode()


def test_a_question_of_the_rules_waits_on_the_committees_page_and_not_on_the_supers(
    cast: Cast, client_of: SignIn
) -> None:
    decision = question(cast, "committee")
    with inside(cast.building.uid) as here:
        cast.caretaker.roles.filter(kind="committee").delete()
        assert here is not None
    go_outside()
    caretaker, committee = client_of(cast.caretaker), client_of(cast.committee)
    answer = reverse("committee-answer", args=[cast.building.uid, decision.uid])
    assert answer in page(cast, committee, "committee")
    assert "1 question waits for the committee" in page(cast, committee, "committee")
    today = page(cast, caretaker, "today")
    assert "The committee decides this" in today
    assert reverse("decision", args=[cast.building.uid, decision.uid]) not in today
    caretaker.post(reverse("decision", args=[cast.building.uid, decision.uid]), {"answer": "no"})
    assert "1 question waits" in page(cast, committee, "committee")
    committee.post(answer, {"answer": "no", "why": "It smells still"})
    shown = page(cast, committee, "committee")
    assert "1 question waits" not in shown
    assert "It smells still" in shown


def test_by_the_api_too_the_committee_answers_its_own_questions_alone(cast: Cast, client_of: SignIn) -> None:
    committee, decision = client_of(cast.committee), question(cast, "caretaker")
    address = reverse("api-committee-answer", args=[cast.building.uid, decision.uid])
    assert committee.post(address, {"answer": "no"}, content_type="application/json").status_code == 422
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(decides="committee")
    go_outside()
    answered = committee.post(address, {"answer": "no", "why": "Too soon"}, content_type="application/json")
    assert answered.json()["decision"]["state"] == "declined"


def test_who_decides_and_when_scraps_come_is_decided_with_a_reason(cast: Cast, client_of: SignIn) -> None:
    committee = client_of(cast.committee)
    values = {"uid": str(uuid5(cast.building.uid, "w")), "opening": "slots", "decides": "committee", "why": "Agreed"}
    address = reverse("committee-ways", args=[cast.building.uid, cast.drum.site.uid])
    assert committee.post(address, values | {"why": ""}).status_code == 422
    assert committee.post(address, values).status_code == 302
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
        assert (site.opening, site.decides) == ("slots", "committee")
        assert CommitteeDecision.objects.within(here).count() == 2
    go_outside()
    api = reverse("api-site-ways", args=[cast.building.uid, cast.drum.site.uid])
    sent = values | {"uid": str(uuid5(cast.building.uid, "w2")), "opening": "open"}
    assert committee.post(api, sent, content_type="application/json").json()["opening"] == "open"


def test_the_committees_page_asks_no_more_of_the_database_with_more_decisions(cast: Cast, client_of: SignIn) -> None:
    committee, asked = client_of(cast.committee), []
    for numbers in (range(1), range(1, 15)):
        for number in numbers:
            decide(cast, number)
        for name in ("committee", "api-committee-decisions"):
            page(cast, committee, name)
            with CaptureQueriesContext(connection) as queries:
                page(cast, committee, name)
            asked.append(len(queries))
    assert asked[:2] == asked[2:]


# Browns, limits, the log ------------------------------------------------------------------------------


def test_a_low_store_is_a_task_on_the_list_of_the_day(cast: Cast, client_of: SignIn) -> None:
    caretaker = client_of(cast.caretaker)
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(households_expected=12)
    go_outside()
    assert "Order or fetch some now" not in page(cast, caretaker, "today")  # nobody has counted
    stock(cast, 500)
    assert "Order or fetch some now" not in page(cast, caretaker, "today")
    stock(cast, 10, 1)
    assert "Order or fetch some now" in page(cast, caretaker, "today")


def test_the_store_says_what_to_mind_and_takes_a_count(cast: Cast, client_of: SignIn) -> None:
    caretaker, address = client_of(cast.caretaker), reverse("store", args=[cast.building.uid])
    assert "carbon monoxide" in page(cast, caretaker, "store")
    sent = {"uid": str(uuid5(cast.building.uid, "c")), "site": str(cast.drum.site.uid), "act": "count", "litres": "0"}
    assert caretaker.post(address, sent | {"litres": ""}).status_code == 422
    assert caretaker.post(address, sent).status_code == 302
    assert "there are no browns left" in page(cast, caretaker, "store")
    assert "The browns are used up" in page(cast, caretaker, "browns")
    kept = reverse("store-keep", args=[cast.building.uid, cast.drum.site.uid])
    assert caretaker.post(kept, {"room": "outdoors"}).status_code == 302
    assert "carbon monoxide" not in page(cast, caretaker, "store")
    (one,) = caretaker.get(reverse("api-stores", args=[cast.building.uid])).json()
    assert (one["litres"], one["room"], one["cautions"]) == (0, "outdoors", ["escape_route", "keep_dry"])
    (row,) = caretaker.get(reverse("api-stock", args=[cast.building.uid])).json()
    undo = reverse("api-stock-undo", args=[cast.building.uid, row["uid"]])
    assert caretaker.post(undo).json()["reverses"] == row["uid"]


def test_a_near_limit_stands_on_the_list_of_the_day_and_in_the_month_but_not_for_residents(
    cast: Cast, client_of: SignIn
) -> None:
    stock(cast, 79)
    limit(cast, 100)
    caretaker = client_of(cast.caretaker)
    assert "% of a limit is used" not in page(cast, caretaker, "today")
    stock(cast, 80, 1)
    said = "80 % of a limit is used: 80 L of 100 L"
    assert said in page(cast, caretaker, "today")
    assert said in page(cast, caretaker, "month", 2026, 5)
    assert said in page(cast, caretaker, "limits")
    assert said not in page(cast, client_of(cast.resident), "month", 2026, 5)
    (one,) = caretaker.get(reverse("api-limits", args=[cast.building.uid])).json()
    assert (one["used"], one["percent"], one["is_near"]) == (80, 80, True)


def test_the_log_of_a_period_names_nobody_and_judges_nothing(cast: Cast, client_of: SignIn) -> None:
    with inside(cast.building.uid) as here:
        happen(cast, here)
    go_outside()
    committee = client_of(cast.committee)
    shown = page(cast, committee, "period-log")
    for words in ("level 50 %", "bags", "a bad smell", "hatch shut", "It judges nothing"):
        assert words in shown
    for hidden in ("Imani", "Ottilie", "Flat 3", "shard", "compliant"):
        assert hidden not in shown
    assert client_of(cast.resident).get(reverse("period-log", args=[cast.building.uid])).status_code == 404
    api = reverse("api-period-log", args=[cast.building.uid])
    kinds = {line["kind"] for line in committee.get(api).json()["lines"]}
    assert kinds == {"visit", "reading", "wrong_item", "report", "shut"}
    assert committee.get(api + "?first=2025-01-01&last=2026-05-04").status_code == 422
    empty = committee.get(reverse("period-log", args=[cast.building.uid]) + "?first=2026-04-01&last=2026-04-02")
    assert "Nothing was recorded on these days" in empty.content.decode()
    assert committee.get(reverse("period-log", args=[cast.building.uid]) + "?first=soon").status_code == 422


def test_store_limits_and_log_ask_no_more_of_the_database_with_more_rows(cast: Cast, client_of: SignIn) -> None:
    caretaker, asked = client_of(cast.caretaker), []
    limit(cast, 100)
    for numbers in (range(1), range(1, 10)):
        for number in numbers:
            stock(cast, 10 + number, number)
            with inside(cast.building.uid) as here:
                happen(cast, here, number)
            go_outside()
        for name in ("store", "limits", "period-log"):
            page(cast, caretaker, name)
            with CaptureQueriesContext(connection) as queries:
                page(cast, caretaker, name)
            asked.append(len(queries))
    assert asked[:3] == asked[3:]
