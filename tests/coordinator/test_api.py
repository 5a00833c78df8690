"""The API and the page's form: a record arrives once, a wrong one is named field by field, nothing is a 5xx."""

import datetime as dt
import json
import re
import warnings
from io import StringIO
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection, transaction
from django.test import Client
from django.urls import get_resolver
from django.utils.html import escape
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bins.models import Contribution, Visit
from households.models import ApiToken, Person
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of, newcomer
from tests.filled import decision_of, give_token, go_outside, live

pytestmark = pytest.mark.embedded

LATER = NOW + dt.timedelta(days=2, hours=1)
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


class Caller:
    """Somebody with a token of Quince Court."""

    def __init__(self, cast: Cast, person: Person, *, days: int = 3650) -> None:
        with inside(cast.building.uid) as here:
            self.token = give_token(here, person, days)
        go_outside()
        self.base = f"/api/buildings/{cast.building.uid}/"
        self.client = Client(raise_request_exception=False)

    def get(self, path: str) -> Any:
        return self.client.get(self.base + path, headers={"Authorization": f"Bearer {self.token}"})

    def post(self, path: str, body: Any, content_type: str = "application/json") -> Any:
        data = body if isinstance(body, bytes | str) else json.dumps(body)
        headers = {"Authorization": f"Bearer {self.token}"}
        return self.client.post(self.base + path, data, content_type=content_type, headers=headers)


@pytest.fixture(autouse=True)
def _then(caplog: pytest.LogCaptureFixture) -> Any:
    caplog.set_level("ERROR", "django.request")
    with time_machine.travel(LATER, tick=False):
        yield


@pytest.fixture
def resident(cast: Cast) -> Caller:
    return Caller(cast, cast.resident)


@pytest.fixture
def caretaker(cast: Cast) -> Caller:
    return Caller(cast, cast.caretaker)


def drop_off(cast: Cast, **more: object) -> dict[str, object]:
    return {"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4, "browns_cups": 2} | more


def visit(cast: Cast, **more: object) -> dict[str, object]:
    return {"uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": True, "level": "half"} | more


def count(cast: Cast, model: Any) -> int:
    with inside(cast.building.uid) as here:
        found: int = model.objects.within(here).count()
    go_outside()
    return found


def is_problem(response: Any, status: int, code: str) -> bool:
    body = response.json()
    assert response.status_code == status, (response.status_code, body)
    assert response.headers["Content-Type"] == "application/problem+json"
    assert {"type", "title", "status", "detail"} <= set(body)
    return bool(body["type"] == f"/problems/{code}/" and body["status"] == status)


# A record arrives once ------------------------------------------------------------------------------


def test_the_same_drop_off_twice_is_one_row_and_one_answer(cast: Cast, resident: Caller) -> None:
    record = drop_off(cast)
    first, second = resident.post("drop-offs/", record), resident.post("drop-offs/", record)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json() == resident.get(f"drop-offs/{record['uid']}/").json()
    assert count(cast, Contribution) == 1


def test_the_same_visit_twice_is_one_row_and_one_answer(cast: Cast, caretaker: Caller) -> None:
    record = visit(cast)
    first, second = caretaker.post("visits/", record), caretaker.post("visits/", record)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert count(cast, Visit) == 1


def test_the_same_uid_with_other_values_is_refused(cast: Cast, resident: Caller, caretaker: Caller) -> None:
    record, seen = drop_off(cast), visit(cast)
    resident.post("drop-offs/", record)
    caretaker.post("visits/", seen)
    assert is_problem(resident.post("drop-offs/", record | {"quarter_pails": 8}), 422, "uid-reused")
    assert is_problem(caretaker.post("visits/", seen | {"turned": False}), 422, "uid-reused")
    assert (count(cast, Contribution), count(cast, Visit)) == (1, 1)


def test_the_uid_of_a_neighbours_drop_off_is_refused_and_shows_nothing_of_it(cast: Cast, resident: Caller) -> None:
    record = drop_off(cast, quarter_pails=12)
    Caller(cast, cast.neighbour).post("drop-offs/", record)
    answer = resident.post("drop-offs/", record)
    assert is_problem(answer, 422, "uid-reused")
    assert "quarter_pails" not in answer.content.decode()
    assert resident.get(f"drop-offs/{record['uid']}/").status_code == 404


def test_the_same_uid_in_two_buildings_is_two_records(cast: Cast, resident: Caller) -> None:
    record = drop_off(cast)
    with inside(cast.elsewhere.uid) as there:
        token = give_token(there, cast.elsewhere_person)
    go_outside()
    assert resident.post("drop-offs/", record).status_code == 201
    elsewhere = resident.client.post(
        f"/api/buildings/{cast.elsewhere.uid}/drop-offs/",
        json.dumps(record | {"drum": str(cast.elsewhere_drum.uid)}),
        content_type="application/json",
        headers={"Authorization": f"Bearer {token}"},
    )
    assert elsewhere.status_code == 201


def test_taking_back_twice_gives_one_reversal(cast: Cast, resident: Caller) -> None:
    record = drop_off(cast)
    resident.post("drop-offs/", record)
    first, second = (resident.post(f"drop-offs/{record['uid']}/undo/", {}) for _ in range(2))
    assert (first.status_code, first.json()) == (200, second.json())
    assert (first.json()["scraps_g"], first.json()["reverses"]) == (-3600, record["uid"])
    assert resident.post(f"drop-offs/{first.json()['uid']}/undo/", {}).status_code == 404, "a reversal stays"
    assert count(cast, Contribution) == 2


# Values ---------------------------------------------------------------------------------------------


def test_numbers_may_be_jsons_own_or_text_and_nought_is_a_number(cast: Cast, resident: Caller) -> None:
    for browns, pails, kilograms in ((0, 4, None), ("0", "4", ""), (0.0, 4.0, None), (None, None, 2.5)):
        record = drop_off(cast, browns_cups=browns, quarter_pails=pails, kilograms=kilograms)
        answer = resident.post("drop-offs/", record)
        assert answer.status_code == 201, answer.json()
        assert answer.json()["browns_cups"] == 0
    for quarter_pails in (0, "0", -1, 41, 2.5, True, "NaN", "1e999", 10**30):
        answer = resident.post("drop-offs/", drop_off(cast, quarter_pails=quarter_pails))
        assert [error["field"] for error in answer.json()["errors"]] == ["quarter_pails"], quarter_pails


def test_each_field_that_cannot_be_right_is_named(cast: Cast, resident: Caller, caretaker: Caller) -> None:
    wrong = {"uid": "1", "drum": 7, "quarter_pails": "many", "browns_cups": 99, "happened_at": "yesterday"}
    answer = resident.post("drop-offs/", wrong)
    assert is_problem(answer, 422, "invalid-record")
    assert {error["field"] for error in answer.json()["errors"]} == set(wrong)
    answer = caretaker.post("visits/", {"uid": None, "turned": "maybe", "level": "brim", "trouble": "rats"})
    assert {e["field"] for e in answer.json()["errors"]} == {"uid", "drum", "turned", "level", "trouble"}
    assert count(cast, Contribution) == 0


def test_a_drum_that_is_not_of_this_building_is_named_as_wrong(cast: Cast, resident: Caller, caretaker: Caller) -> None:
    for uid in (uuid4(), cast.elsewhere_drum.uid):
        for answer in (
            resident.post("drop-offs/", drop_off(cast, drum=str(uid))),
            caretaker.post("visits/", visit(cast, drum=str(uid))),
        ):
            assert is_problem(answer, 422, "invalid-record")
            assert answer.json()["errors"] == [{"field": "drum", "message": "There is no such drum here."}]


@pytest.mark.parametrize(
    ("body", "content_type", "status", "code"),
    [
        ("{", "application/json", 400, "bad-request"),
        (b"\xff\xfe", "application/json", 400, "bad-request"),
        ('{"quarter_pails": ' + "9" * 5000 + "}", "application/json", 400, "bad-request"),
        ('{"quarter_pails": NaN}', "application/json", 400, "bad-request"),
        ("[" * 100_000, "application/json", 400, "bad-request"),
        ("[]", "application/json", 422, "invalid-record"),
        ("null", "application/json", 422, "invalid-record"),
        ('"text"', "application/json", 422, "invalid-record"),
        ("", "application/json", 422, "invalid-record"),
        ("uid=1", "application/x-www-form-urlencoded", 415, "bad-request"),
        ("<x/>", "text/xml", 415, "bad-request"),
        ('{"uid": "\\ud800", "drum": "\\u0000"}', "application/json", 422, "invalid-record"),
    ],
)  # fmt: skip
def test_a_body_that_is_no_record_is_a_problem_and_no_fault_of_ours(
    resident: Caller, body: Any, content_type: str, status: int, code: str
) -> None:
    assert is_problem(resident.post("drop-offs/", body, content_type), status, code)


def test_an_answer_in_another_form_than_json_is_not_to_be_had(resident: Caller) -> None:
    headers = {"Authorization": f"Bearer {resident.token}", "Accept": "text/html"}
    answer = resident.client.get(resident.base + "drums/", headers=headers)
    assert is_problem(answer, 406, "bad-request")
    assert resident.get("drums/?format=xml").status_code == 404
    assert is_problem(resident.get("drop-offs/?before=x"), 422, "invalid-record")


@pytest.mark.parametrize("moment", ["0001-01-01T00:00:01Z", "9999-12-31T23:59:59Z", "1969-12-31T23:00:00-12:00"])
def test_a_time_at_the_edge_of_the_calendar_spoils_no_page(cast: Cast, resident: Caller, moment: str) -> None:
    answer = resident.post("drop-offs/", drop_off(cast, happened_at=moment))
    assert answer.status_code in (201, 422), answer.json()
    caretaker = Caller(cast, cast.caretaker)
    assert caretaker.post("visits/", visit(cast, happened_at=moment)).status_code in (201, 422)
    assert resident.get("drop-offs/").status_code == 200
    pages = Client(raise_request_exception=False)
    pages.force_login(account_of(cast.resident), backend=BACKEND)
    own = [f"drop-off/{answer.json()['uid']}/"] if answer.status_code == 201 else []
    for page in ("", "drop-off/", "month/2026/5/", *own):
        assert pages.get(f"/b/{cast.building.uid}/{page}").status_code == 200, page
    pages.force_login(account_of(cast.caretaker), backend=BACKEND)
    assert pages.get(f"/b/{cast.building.uid}/today/").status_code == 200


# Whoever asks ---------------------------------------------------------------------------------------


def test_a_token_that_ended_was_revoked_or_never_was_opens_nothing(cast: Cast) -> None:
    ended, revoked, good = (Caller(cast, cast.resident, days=days) for days in (2, 30, 31))
    with inside(cast.building.uid) as here:
        ApiToken.objects.within(here).filter(secret_hash=ApiToken.hash_of(revoked.token)).update(revoked_at=NOW)
    go_outside()
    assert good.get("drop-offs/").status_code == 200
    nonsense = Caller(cast, cast.neighbour)
    for nonsense.token in ("x", "", "\xff", ApiToken.hash_of(good.token), good.token + " x"):
        assert is_problem(nonsense.get("drop-offs/"), 401, "not-signed-in"), nonsense.token
    assert ended.get("drop-offs/").content == revoked.get("drop-offs/").content == nonsense.get("drop-offs/").content
    assert ended.get("drop-offs/").headers["WWW-Authenticate"] == "Bearer"
    with time_machine.travel(NOW + dt.timedelta(days=2, seconds=-1), tick=False):
        assert ended.get("drop-offs/").status_code == 200
    with time_machine.travel(NOW + dt.timedelta(days=2), tick=False):
        assert ended.get("drop-offs/").status_code == 401


def test_a_tokens_secret_is_shown_once_and_is_nowhere_in_the_database(cast: Cast) -> None:
    client = Client()
    client.force_login(account_of(cast.resident), backend=BACKEND)
    address = f"/b/{cast.building.uid}/tokens/"
    page = client.post(address, {"name": "scale", "days": "30"}).content.decode()
    (secret,) = re.findall(r"<code[^>]*>([\w-]{40,})</code>", page)
    assert secret not in client.get(address).content.decode()
    caller = Caller(cast, cast.neighbour)
    caller.token = secret
    assert caller.get("drop-offs/").status_code == 200, "the secret is the one that opens"
    with inside(cast.building.uid):
        kept = ""
        for table in connection.introspection.table_names():
            if table != "django_migrations":
                with connection.cursor() as cursor:
                    cursor.execute(f"SELECT * FROM {table}")
                    kept += repr(cursor.fetchall())
    assert ApiToken.hash_of(secret) in kept, "the search sees the tokens"
    assert secret not in kept


def test_a_browsers_call_needs_its_csrf_token_and_a_bearers_does_not(cast: Cast) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(account_of(cast.resident), backend=BACKEND)
    address, record = f"/api/buildings/{cast.building.uid}/drop-offs/", json.dumps(drop_off(cast))
    refused = browser.post(address, record, content_type="application/json")
    assert is_problem(refused, 403, "forbidden")
    assert count(cast, Contribution) == 0
    page = browser.get(f"/b/{cast.building.uid}/drop-off/").content.decode()
    token = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page)[0]
    with_token = browser.post(address, record, content_type="application/json", headers={"X-CSRFToken": token})
    assert with_token.status_code == 201
    # A page's form is checked before its door is.
    assert browser.post(f"/b/{cast.building.uid}/drop-off/", drop_off(cast)).status_code == 403
    assert Client(enforce_csrf_checks=True).post(f"/b/{uuid4()}/drop-off/", drop_off(cast)).status_code == 403


def test_no_header_or_field_turns_a_method_into_another(cast: Cast, resident: Caller) -> None:
    override = {"X-HTTP-Method-Override": "POST", "Authorization": f"Bearer {resident.token}"}
    answer = resident.client.get(resident.base + "visits/?_method=POST", headers=override)
    assert is_problem(answer, 405, "method-not-allowed")
    assert answer.headers["Allow"] == "POST"


def test_a_settled_decision_answers_alike_when_asked_again(cast: Cast, caretaker: Caller) -> None:
    live_before = caretaker.get("decisions/").json()
    assert live_before == []
    with transaction.atomic():
        with inside(cast.building.uid) as here:
            ApiToken.objects.within(here).all().delete()
        live(cast)
    decision = decision_of(cast.building)
    with inside(cast.building.uid) as here:
        assert ApiToken.objects.within(here).filter(secret_hash=ApiToken.hash_of(caretaker.token)).exists()
    go_outside()
    for wrong in ({}, {"answer": "perhaps"}, {"answer": ["yes"]}):
        assert is_problem(caretaker.post(f"decisions/{decision.uid}/answer/", wrong), 422, "invalid-record")
    first, second = (caretaker.post(f"decisions/{decision.uid}/answer/", {"answer": "yes"}) for _ in range(2))
    assert first.json() == second.json()
    assert first.json()["decision"]["state"] == "applied"


# The description ------------------------------------------------------------------------------------


def test_the_description_comes_without_a_warning_and_names_every_route() -> None:
    out = StringIO()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        call_command("spectacular", "--fail-on-warn", "--validate", "--format", "openapi-json", stdout=out)
    described = json.loads(out.getvalue())["paths"]
    routes = {
        "/" + re.sub(r"<\w+:(\w+)>", r"{\1}", str(route.pattern)): route
        for route in get_resolver().url_patterns
        if str(route.pattern).startswith("api/buildings/")
    }
    assert set(described) == set(routes)
    for path, route in routes.items():
        assert {method.upper() for method in described[path]} == set(route.callback.rules)
    assert Client().get("/api/schema/").json()["paths"] == described


# Whatever is sent -----------------------------------------------------------------------------------

TEXT = st.text(st.characters(exclude_categories=()), max_size=20)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | TEXT | st.datetimes().map(str),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=6,
)
GOOD = {
    "happened_at": ["2026-05-06T18:30:00+02:00", "2026-05-04T16:00:00Z"],
    "quarter_pails": [1, "4", 40],
    "kilograms": [2.5, "2,5", None],
    "browns_cups": [0, "2", None],
    "known": ["counted", "guessed", ""],
    "turned": [True, False, "yes"],
    "level": ["empty", "full"],
    "trouble": ["nothing", "smell"],
    "answer": ["yes", "no"],
}
NEARLY = st.sampled_from([
    "2026-05-06T18:30:00+02:00", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "2026-02-30T00:00:00Z", 4,
    0, "4", "٤", "2,5", 1e-9, 100.0004, -0.0, "yes", "full", "counted", "half", "guessed", True, "1_0", "0x4", " 4 ",
])  # fmt: skip


def test_whatever_is_sent_is_answered_below_500(cast: Cast) -> None:
    live(cast)
    decision = decision_of(cast.building).uid
    callers = {"drop-offs/": Caller(cast, cast.resident), "visits/": Caller(cast, cast.caretaker, days=20)}
    callers[f"decisions/{decision}/answer/"] = callers["visits/"]
    drums = st.sampled_from([str(cast.drum.uid), cast.drum.uid.hex.upper(), str(cast.elsewhere_drum.uid)])
    record = st.fixed_dictionaries(
        {"uid": st.uuids().map(str), "drum": drums},
        optional={name: st.sampled_from(values) for name, values in GOOD.items()},
    )
    spoilt = st.builds(
        lambda good, name, value: good | {name: value}, record, st.sampled_from(["uid", "drum", *GOOD]), NEARLY | JSON
    )
    seen: dict[int, int] = {}

    @settings(max_examples=100, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))
    @given(st.sampled_from(sorted(callers)), record | spoilt | JSON)
    def check(path: str, body: Any) -> None:
        with transaction.atomic():
            answer = callers[path].post(path, body)
            transaction.set_rollback(True)
        seen[answer.status_code] = seen.get(answer.status_code, 0) + 1
        assert answer.status_code < 500, (path, body)
        assert answer.json()

    check()
    print(f"answers to whatever was sent: {seen}")
    assert seen[201] > 9, "some of it was a record"
    assert seen[422] > 9, "some of it was none"


# The page, without scripts --------------------------------------------------------------------------


@pytest.fixture
def browser(cast: Cast) -> Client:
    client = Client()
    client.force_login(account_of(cast.resident), backend=BACKEND)
    return client


def form(page: str) -> dict[str, str]:
    """The hidden values of the form that logs a pail."""
    return dict(re.findall(r'<input type="hidden" name="(uid|drum)" value="([^"]*)"', page))


def test_a_form_sent_twice_gives_the_same_answer_and_one_row(cast: Cast, browser: Client) -> None:
    address = f"/b/{cast.building.uid}/drop-off/"
    filled = form(browser.get(address).content.decode())
    assert UUID(filled["uid"])
    sent = {"drum": str(cast.drum.uid), "quarter_pails": "6", "browns_cups": "3"} | filled
    first, second = browser.post(address, sent), browser.post(address, sent)
    assert (first.status_code, first.headers["Location"]) == (302, f"{address}{filled['uid']}/")
    assert second.headers["Location"] == first.headers["Location"]
    assert browser.get(second.headers["Location"]).status_code == 200
    assert count(cast, Contribution) == 1


def test_a_form_sent_again_with_other_values_keeps_the_first_and_what_was_typed(cast: Cast, browser: Client) -> None:
    address = f"/b/{cast.building.uid}/drop-off/"
    sent = drop_off(cast, quarter_pails=4)
    browser.post(address, sent)
    again = browser.post(address, sent | {"quarter_pails": "", "kilograms": "2,35"})
    page = again.content.decode()
    assert again.status_code == 422
    assert "already sent with other values" in page
    assert 'value="2,35"' in page
    assert form(page)["uid"] != sent["uid"], "as another drop-off it can be sent now"
    assert count(cast, Contribution) == 1


def test_a_form_with_a_wrong_value_comes_back_with_it_and_the_same_uid(cast: Cast, browser: Client) -> None:
    sent = drop_off(cast, kilograms='2 kg "about"', browns_cups="5")
    answer = browser.post(f"/b/{cast.building.uid}/drop-off/", sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert f'value="{escape(sent["kilograms"])}"' in page
    assert form(page)["uid"] == sent["uid"]
    assert count(cast, Contribution) == 0


NASTY = '"><script>alert(1)</script>{{ 7 }}'


def test_what_somebody_is_called_is_never_run(cast: Cast) -> None:
    newcomer(cast.building, NASTY[:60], NASTY[:50], "caretaker", "resident")
    with inside(cast.building.uid) as here:
        here.name = NASTY
        here.save()
        type(cast.drum.site).objects.within(here).update(name=NASTY, fallback=NASTY)
        person = Person.objects.within(here).get(name=NASTY[:60])
        ApiToken.objects.create(
            building=here, person=person, name=NASTY, secret_hash="0", created_at=NOW, expires_at=NOW.replace(year=2030)
        )
    go_outside()
    client = Client()
    client.force_login(account_of(person), backend=BACKEND)
    for page in ("", f"d/{cast.drum.uid}/", f"d/{cast.drum.uid}/sign/", "drop-off/?drum=" + NASTY, "today/", "people/",
                 "tokens/", "month/2026/5/", f"drop-off/{uuid4()}/"):  # fmt: skip
        body = client.get(f"/b/{cast.building.uid}/{page}").content.decode()
        assert "<script>alert" not in body, page
        assert escape('"><script>') in body or "drop-off" in page, f"{page}: the name is shown"
    answer = client.post(f"/b/{cast.building.uid}/people/", {"name": NASTY, "household": NASTY, "uid": NASTY})
    assert answer.status_code == 422
    assert "<script>alert" not in answer.content.decode()
