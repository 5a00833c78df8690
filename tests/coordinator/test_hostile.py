"""What somebody may send who means ill: refused in words, kept by nobody, and never a fault of ours."""

import json
from typing import Any
from uuid import uuid4
from wsgiref.util import setup_testing_defaults

import pytest
import time_machine
from django.core.handlers.wsgi import WSGIRequest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from bins.records import Reader, seen
from households.models import ApiToken, Person
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded

BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
# Signs that JSON may carry and no database takes: nothing, and half of a pair.
NOTHING, HALF = "\0", "\ud83d"


@pytest.fixture(autouse=True)
def _then(caplog: pytest.LogCaptureFixture) -> Any:
    caplog.set_level("ERROR", "django.request")
    with time_machine.travel(NOW, tick=False):
        yield


def browser(person: Person) -> Client:
    client = Client(raise_request_exception=False)
    client.force_login(account_of(person), backend=BACKEND)
    return client


def post(cast: Cast, person: Person, path: str, body: Any) -> Any:
    """An answer of the API, asked with a fresh token of the person."""
    with inside(cast.building.uid) as here:
        ApiToken.objects.within(here).filter(person=person).delete()
        token = give_token(here, person)
    go_outside()
    address, headers = f"/api/buildings/{cast.building.uid}/{path}", {"Authorization": f"Bearer {token}"}
    client = Client(raise_request_exception=False)
    return client.post(address, json.dumps(body), content_type="application/json", headers=headers)


# Signs ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        (f"Fl{NOTHING}at 3", "Flat 3"),
        (f"Flat 3{HALF}", "Flat 3"),
        ("Flat\u202e 3\u2066", "Flat 3"),
        ("Fl\x07at\x9f 3\uffff", "Flat 3"),
        ("Flat\r\n3", "Flat 3"),
        ("🥕 Wohnung ‏٣", "🥕 Wohnung ‏٣"),
    ],
)
def test_signs_that_nobody_can_see_are_left_out_and_all_others_stay(sent: str, kept: str) -> None:
    assert Reader({"label": sent}).words("label", 60, "") == kept


@given(st.text())
def test_whatever_was_sent_can_be_written_as_bytes_and_holds_no_sign_of_control(text: str) -> None:
    kept = seen(text)
    assert kept.encode().decode() == kept
    assert "\0" not in kept
    assert seen(kept) == kept


@pytest.mark.parametrize("sign", [NOTHING, HALF])
def test_a_sheet_and_a_card_with_such_a_sign_are_refused_field_by_field(cast: Cast, sign: str) -> None:
    sheet = {"uid": str(uuid4()), "kind": "visits", "text": f"date,drum,turned\n2026-05-01,1,{sign}\n"}
    assert post(cast, cast.caretaker, "imports/", sheet).status_code == (422 if sign == NOTHING else 200)
    line = {"uid": str(uuid4()), "card": f"23{sign}46", "day": "2026-05-04", "quarter_pails": 4}
    answer = post(cast, cast.caretaker, "on-behalf/", {"lines": [line]})
    assert (answer.status_code, [one["field"] for one in answer.json()["errors"]]) == (422, ["card-1"])


@pytest.mark.parametrize("reference", ["%00", "A%00B", "%F0%9F%98%80", "A" * 3000])
def test_a_reference_that_can_be_none_is_none(cast: Cast, reference: str) -> None:
    client = Client(raise_request_exception=False)
    assert client.get(f"/b/{cast.building.uid}/report/{reference}/").status_code == 404
    assert client.get(f"/b/{cast.building.uid}/report/?reference={reference}").status_code == 404
    assert client.get(f"/api/buildings/{cast.building.uid}/reports/{reference}/").status_code == 404


# Days, numbers --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "is_one"),
    [("1899-12-31", False), ("1900-01-01", True), ("2200-12-31", True), ("2201-01-01", False), ("9999-12-31", False)],
)
def test_a_day_is_of_the_years_1900_to_2200(text: str, is_one: bool) -> None:
    reader = Reader({"day": text, "at": f"{text}T12:00:00+00:00"})
    assert (reader.day("day") is not None, reader.instant("at", NOW) != NOW) == (is_one, is_one)
    assert set(reader.errors) == (set() if is_one else {"day", "at"})


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_a_day_at_either_end_of_the_calendar_is_refused(cast: Cast, day: str) -> None:
    client, base = browser(cast.resident), f"/b/{cast.building.uid}/"
    away = {"uid": str(uuid4()), "first_day": day, "last_day": day}
    assert client.post(f"{base}absence/", away).status_code == 422
    assert browser(cast.caretaker).get(f"{base}recorded/?last={day}").status_code == 422
    assert client.get(f"/api/buildings/{cast.building.uid}/slots/?from={day}").status_code == 422
    assert post(cast, cast.resident, "absences/", away).status_code == 422


def test_a_key_for_any_other_time_than_those_offered_is_refused(cast: Cast) -> None:
    address = f"/b/{cast.building.uid}/tokens/"
    for days in ("31", "1e9", "NaN", "x"):
        assert browser(cast.resident).post(address, {"name": "scale", "days": days}).status_code == 422


def test_a_time_for_somebody_that_is_none_is_refused(cast: Cast) -> None:
    client, address = browser(cast.caretaker), f"/b/{cast.building.uid}/week/for/"
    for time in ("x/2026-05-12", f"{uuid4()}/x", "x", "/", ""):
        answer = client.post(address, {"uid": str(uuid4()), "household": str(uuid4()), "time": time})
        assert answer.status_code == 422, time


# Bodies -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("charset", ["zlib", "hex", "undefined", "utf-16", "no-such", "utf-8"])
@pytest.mark.parametrize("kind", ["application/json", "text/plain", "multipart/form-data; boundary=x"])
def test_a_request_is_utf_8_whatever_its_header_says(kind: str, charset: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from coordinator import wsgi  # here, since it wants the folder of static files that the session makes

    monkeypatch.setattr(wsgi, "_answer", lambda environ, start: [WSGIRequest(environ).GET["x"]])
    environ: dict[str, Any] = {"QUERY_STRING": "x=%C3%A9", "CONTENT_TYPE": f"{kind}; CharSet={charset}"}
    setup_testing_defaults(environ)
    assert wsgi.application(environ, print) == ["é"]


# What is kept -----------------------------------------------------------------------------------------------


def test_no_browser_keeps_a_page_of_somebody_who_was_signed_in(cast: Cast) -> None:
    client, base = browser(cast.resident), f"/b/{cast.building.uid}/"
    for path in (base, f"{base}share/", f"{base}tokens/", f"{base}d/{cast.drum.uid}/", "/", "/setup/", f"{base}none/"):
        assert client.get(path).headers["Cache-Control"] == "private, no-store", path
    assert post(cast, cast.resident, "turnings/", {}).headers["Cache-Control"] == "private, no-store"


def test_a_strangers_page_may_be_kept_and_is_asked_for_anew(cast: Cast) -> None:
    answer = Client().get(f"/b/{cast.building.uid}/d/{cast.drum.uid}/")
    assert answer.headers["Cache-Control"] == "private, no-cache"


def test_problems_are_described_under_the_media_type_that_they_come_under(cast: Cast) -> None:
    told = Client().get("/api/schema/").json()["paths"]["/api/buildings/{building}/drop-offs/"]["post"]["responses"]
    assert {status: list(answer["content"]) for status, answer in told.items()} == {
        "200": ["application/json"],
        "201": ["application/json"],
        "401": ["application/problem+json"],
        "404": ["application/problem+json"],
        "422": ["application/problem+json"],
    }
    assert post(cast, cast.resident, "drop-offs/", {}).headers["Content-Type"] == "application/problem+json"
