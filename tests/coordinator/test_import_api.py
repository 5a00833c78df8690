"""A sheet by the API: looked at first, brought in by a second call, and the same sheet twice adds nothing."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from bins.models import Contribution
from households.models import ApiToken
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded
SHEET = "date;household;drum;pails;cups of browns\n2026-05-03;Flat 3;1;1,5;2\n2026-05-03;Nobody;1;1;0\n"


@pytest.fixture
def ask(cast: Cast) -> Any:
    secret = ApiToken.new_secret()
    with inside(cast.building.uid) as here:
        ApiToken.objects.create(
            building=here,
            person=cast.caretaker,
            name="sheets",
            secret_hash=ApiToken.hash_of(secret),
            created_at=NOW,
            expires_at=NOW + dt.timedelta(days=3650),
        )
    client = Client(headers={"authorization": f"Bearer {secret}"})

    def post(path: str, body: dict[str, Any] | None = None) -> Any:
        return client.post(f"/api/buildings/{cast.building.uid}/imports/{path}", body, "application/json")

    return post


def test_a_sheet_is_looked_at_before_it_goes_in_and_goes_in_once(cast: Cast, ask: Any) -> None:
    uid = str(uuid4())
    dry = ask("", {"uid": uid, "kind": "contributions", "text": SHEET})
    assert dry.status_code == 200, dry.content
    assert (dry.json()["state"], dry.json()["rows_in"]) == ("waiting", 1)
    assert [cell["line"] for cell in dry.json()["refused"]] == [3]
    with inside(cast.building.uid) as here:
        assert not Contribution.objects.within(here).exists()
    first, again = ask(f"{uid}/bring-in/"), ask(f"{uid}/bring-in/")
    assert (first.json()["state"], first.json()["rows_in"], again.json()) == ("done", 1, first.json())
    other = str(uuid4())
    ask("", {"uid": other, "kind": "contributions", "text": SHEET})
    assert (ask(f"{other}/bring-in/").json()["rows_in"], ask(f"{other}/bring-in/").json()["known_before"]) == (0, 1)
    with inside(cast.building.uid) as here:
        assert [row.quarter_pails for row in Contribution.objects.within(here)] == [6]


def test_another_sheet_under_the_same_uid_is_refused(ask: Any) -> None:
    uid = str(uuid4())
    ask("", {"uid": uid, "kind": "contributions", "text": SHEET})
    answer = ask("", {"uid": uid, "kind": "contributions", "text": SHEET.replace("1,5", "2")})
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/uid-reused/")


@pytest.mark.parametrize("text", [None, 7, "", "no heading that we know\n1\n"])
def test_what_is_no_sheet_is_refused_with_a_reason(ask: Any, text: object) -> None:
    answer = ask("", {"uid": str(uuid4()), "kind": "visits", "text": text})
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid-record/")
