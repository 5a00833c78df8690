"""On somebody's behalf, corrections, moving out and log sheets, on pages and API."""

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Contribution, ImportRun
from bins.sheets.sheets import MOST_BYTES
from coordinator.csv_out import csv_file, safe_cell
from households.models import Account, Household, Person
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
    person = cast.neighbour if who == "neighbour" else cast.people[who]
    client.force_login(account_of(person), "allauth.account.auth_backends.AuthenticationBackend")
    return client


def bearer(cast: Cast, who: str) -> dict[str, str]:
    with inside(cast.building.uid) as here:
        token = give_token(here, cast.people[who])
    go_outside()
    return {"Authorization": f"Bearer {token}"}


def rows(cast: Cast) -> list[Contribution]:
    with inside(cast.building.uid) as here:
        found = list(Contribution.objects.within(here).order_by("ledger_number"))
    go_outside()
    return found


def logged(cast: Cast) -> Contribution:
    raw = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 8}
    with inside(cast.building.uid) as here:
        row = record_drop_off(
            building=here, told=DropOff.from_raw(raw), household=cast.resident.household, person=cast.resident,
            via="web", now=NOW,
        ).row  # fmt: skip
    go_outside()
    return row


# On behalf -----------------------------------------------------------------------------------------------------


def test_the_page_takes_the_filled_lines_and_counts_the_empty_ones_as_nothing(block: Cast) -> None:
    assert block.resident.household is not None
    page = reverse("on-behalf", args=[block.building.uid])
    client = signed_in(block, "caretaker")
    form = client.get(page).content.decode()
    assert form.count('name="uid-') == 10
    assert "Flat 3" in form
    values = {"via": "sheet"}
    for number in range(1, 11):
        values |= {f"uid-{number}": str(uuid4()), f"day-{number}": "2026-05-04", f"quarter_pails-{number}": "4"}
    values |= {"household-2": str(block.resident.household.uid), "household-5": str(block.resident.household.uid)}
    assert client.post(page, values).status_code == 302
    assert [(row.via, row.scraps_g) for row in rows(block)] == [("sheet", 3600), ("sheet", 3600)]
    bad = client.post(page, values | {"uid-2": str(uuid4()), "uid-5": str(uuid4()), "day-5": "2026-05-09"})
    assert bad.status_code == 422
    assert 'id="day-5-error"' in bad.content.decode(), "named where it stands on the page"
    assert len(rows(block)) == 2


def test_the_api_takes_lines_and_names_faults_by_their_number(block: Cast) -> None:
    assert block.resident.household is not None
    address, headers = f"/api/buildings/{block.building.uid}/on-behalf/", bearer(block, "caretaker")
    line = {"uid": str(uuid4()), "household": str(block.resident.household.uid), "day": "2026-05-04", "kilograms": 2.5}
    for _time in range(2):
        answer = Client().post(address, {"lines": [line]}, content_type="application/json", headers=headers)
        assert [(row["scraps_g"], row["via"]) for row in answer.json()] == [(2500, "proxy")]
    wrong = {"lines": [line, line | {"uid": str(uuid4()), "day": "tomorrow"}]}
    answer = Client().post(address, wrong, content_type="application/json", headers=headers)
    assert [error["field"] for error in answer.json()["errors"]] == ["day-2"]
    for body in ({}, {"lines": 3}, {"lines": [3]}, [], {"lines": [{"uid": {}}]}):
        assert Client().post(address, body, content_type="application/json", headers=headers).status_code == 422


# Corrections ----------------------------------------------------------------------------------------------------


def test_a_resident_corrects_a_drop_off_from_its_own_page(block: Cast) -> None:
    row, client = logged(block), signed_in(block, "resident")
    shown = client.get(reverse("drop-off", args=[block.building.uid, row.uid])).content.decode()
    address = reverse("drop-off-correct", args=[block.building.uid, row.uid])
    assert address in shown
    assert 'name="quarter_pails" value="8" checked' in client.get(address).content.decode()
    values = {"uid": str(uuid4()), "drum": str(block.drum.uid), "quarter_pails": "2", "browns_cups": "1"}
    done = client.post(address, values)
    assert done.headers["Location"] == reverse("drop-off", args=[block.building.uid, UUID(values["uid"])])
    assert [one.scraps_g for one in rows(block)] == [7200, -7200, 1800]
    assert client.post(address, values).status_code == 302, "sent twice, the same answer"
    assert client.post(address, values | {"uid": str(uuid4())}).status_code == 422
    stands = reverse("drop-off", args=[block.building.uid, row.uid])
    assert client.get(address).headers["Location"] == stands, "an old page gone back to"


def test_a_corrected_drop_offs_old_page_leads_to_the_one_that_counts(block: Cast) -> None:
    row, client = logged(block), signed_in(block, "resident")
    values = {"uid": str(uuid4()), "drum": str(block.drum.uid), "quarter_pails": "2"}
    client.post(reverse("drop-off-correct", args=[block.building.uid, row.uid]), values)
    old = client.get(reverse("drop-off", args=[block.building.uid, row.uid])).content.decode()
    assert "This drop-off was corrected. The corrected one counts." in old
    assert reverse("drop-off", args=[block.building.uid, UUID(values["uid"])]) in old


def test_one_that_was_only_taken_back_leads_nowhere_though_another_follows_it_in_the_books(block: Cast) -> None:
    row, client = logged(block), signed_in(block, "resident")
    client.post(reverse("drop-off-undo", args=[block.building.uid, row.uid]))
    with time_machine.travel(NOW + dt.timedelta(hours=1, seconds=1), tick=False):
        logged(block)
        old = client.get(reverse("drop-off", args=[block.building.uid, row.uid])).content.decode()
    first, reversal, following = (one.ledger_number for one in rows(block))
    assert (reversal, following) == (first + 1, first + 2)
    assert "This drop-off was taken back. Nothing of it is counted." in old
    assert "See the corrected one" not in old


def test_a_correction_of_the_cups_keeps_that_the_browns_were_in_the_pail(block: Cast) -> None:
    client, form = signed_in(block, "resident"), reverse("drop-off-form", args=[block.building.uid])
    sent = {"uid": str(uuid4()), "drum": str(block.drum.uid), "quarter_pails": "4", "browns_cups": "2"}
    client.post(form, sent | {"browns_in_pail": "yes"})
    address = reverse("drop-off-correct", args=[block.building.uid, UUID(sent["uid"])])
    assert 'name="browns_in_pail" value="yes" checked' in client.get(address).content.decode()
    client.post(address, sent | {"uid": str(uuid4()), "browns_cups": "1", "browns_in_pail": "yes"})
    # A pail of 8 L with two cups of 1 L in it: 6 L of scraps at 0.45 kg/L; with one cup 7 L.
    assert [one.scraps_g for one in rows(block)] == [2700, -2700, 3150]


def test_nobody_corrects_a_neighbours_drop_off(block: Cast) -> None:
    row = logged(block)
    values = {"uid": str(uuid4()), "drum": str(block.drum.uid), "quarter_pails": "2"}
    for who in ("neighbour", "caretaker"):
        address = reverse("drop-off-correct", args=[block.building.uid, row.uid])
        assert signed_in(block, who).post(address, values).status_code == 404
    assert len(rows(block)) == 1


def test_the_api_corrects_and_keeps_what_is_not_told_again(block: Cast) -> None:
    row, headers = logged(block), bearer(block, "resident")
    address = f"/api/buildings/{block.building.uid}/drop-offs/{row.uid}/correct/"
    body = {"uid": str(uuid4()), "quarter_pails": 2}
    first = Client().post(address, body, content_type="application/json", headers=headers)
    again = Client().post(address, body, content_type="application/json", headers=headers)
    assert (first.status_code, again.status_code) == (201, 200)
    assert (first.json()["scraps_g"], first.json()["drum"]) == (1800, str(block.drum.uid))


# Moving out -----------------------------------------------------------------------------------------------------


def test_a_resident_moves_out_on_one_page_and_is_signed_out_of_an_account_that_is_gone(block: Cast) -> None:
    assert block.resident.household is not None
    logged(block)
    client, account = signed_in(block, "resident"), account_of(block.resident)
    address = reverse("leave", args=[block.building.uid, block.resident.household.uid])
    assert address in client.get(reverse("building", args=[block.building.uid])).content.decode()
    page = client.get(address).content.decode()
    assert "without a name" in page
    assert 'name="share"' in page, "what was brought still works"
    values = {"uid": str(uuid4()), "last_day": "2026-05-04", "sure": "yes"}
    assert client.post(address, values).status_code == 422
    done = client.post(address, values | {"share": "garden"})
    assert (done.status_code, done.headers["Location"]) == (302, "/")
    assert not Account.objects.filter(pk=account.pk).exists()
    assert client.get(reverse("building", args=[block.building.uid])).status_code == 302
    assert [row.scraps_g for row in rows(block)] == [7200]


def test_the_caretaker_moves_any_household_out_and_a_neighbour_only_their_own(block: Cast) -> None:
    assert block.resident.household is not None
    address = reverse("leave", args=[block.building.uid, block.resident.household.uid])
    values = {"uid": str(uuid4()), "last_day": "2026-05-04", "sure": "yes"}
    assert signed_in(block, "neighbour").get(address).status_code == 404
    assert signed_in(block, "neighbour").post(address, values).status_code == 404
    people = signed_in(block, "caretaker").get(reverse("people", args=[block.building.uid])).content.decode()
    assert address in people
    assert signed_in(block, "caretaker").post(address, values).status_code == 302
    with inside(block.building.uid) as here:
        assert not Person.objects.within(here).filter(pk=block.resident.pk).exists()
    go_outside()
    assert "deleted" in signed_in(block, "caretaker").get(address).content.decode()


def test_the_api_moves_out_once(block: Cast) -> None:
    assert block.neighbour.household is not None
    headers = bearer(block, "caretaker")
    address = f"/api/buildings/{block.building.uid}/households/{block.neighbour.household.uid}/leave/"
    body = {"uid": str(uuid4()), "last_day": "2026-05-04", "sure": True}
    for _time in range(2):
        answer = Client().post(address, body, content_type="application/json", headers=headers)
        assert answer.status_code == 200
        assert answer.json() == {
            "household": str(block.neighbour.household.uid),
            "last_day": "2026-05-04",
            "share": "garden",
            "is_forgotten": True,
        }
    other = Client().post(address, body | {"last_day": "2026-05-03"}, content_type="application/json", headers=headers)
    assert other.json()["type"] == "/problems/uid-reused/"


# Log sheets -----------------------------------------------------------------------------------------------------


def upload(block: Cast, content: bytes, kind: str = "contributions", client: Client | None = None) -> Any:
    values = {"uid": str(uuid4()), "kind": kind, "file": SimpleUploadedFile("log.csv", content, "text/csv")}
    return (client or signed_in(block, "caretaker")).post(reverse("import", args=[block.building.uid]), values)


def test_a_sheet_is_shown_first_with_its_bad_rows_and_goes_in_at_the_yes(block: Cast) -> None:
    client = signed_in(block, "caretaker")
    sheet = b"date,household,pails,weather\n2026-05-04,Flat 3,1,sun\n2026-05-04,=HYPERLINK(1),1,rain\n"
    sent = upload(block, sheet, client=client)
    run = sent.headers["Location"]
    page = client.get(run).content.decode()
    assert "1 row would go in." in page
    assert "1 row would stay out." in page
    assert "weather" in page
    assert rows(block) == []
    refused = client.get(f"{run}refused.csv")
    assert refused.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert refused.content.decode("utf-8-sig").splitlines()[1].startswith("3,household,")
    assert "'=HYPERLINK(1)" in refused.content.decode(), "no program takes it for a formula"
    for _time in range(2):
        assert client.post(run).status_code == 302
    assert "1 row went in." in client.get(run).content.decode()
    assert [row.via for row in rows(block)] == ["import"]
    assert "HYPERLINK" not in client.get(f"{run}refused.csv").content.decode(), "the content is deleted"
    with inside(block.building.uid) as here:
        assert ImportRun.objects.within(here).get().text == ""
    go_outside()


@pytest.mark.parametrize("values", [{}, {"kind": "cats"}, {"file": ""}])
def test_a_form_without_a_kind_or_a_file_is_refused_with_its_fields(block: Cast, values: dict[str, str]) -> None:
    answer = signed_in(block, "caretaker").post(reverse("import", args=[block.building.uid]), values)
    assert answer.status_code == 422
    assert 'id="file-error"' in answer.content.decode()


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"x" * (MOST_BYTES + 1)])
def test_a_file_that_cannot_be_read_is_answered_by_the_form(block: Cast, content: bytes) -> None:
    answer = upload(block, content)
    assert answer.status_code == 422
    assert 'id="file-error"' in answer.content.decode()


@pytest.mark.parametrize(
    ("language", "first"),
    [
        ("en", "date,time,household"),
        ("es", "fecha;hora;hogar"),
        ("fr", "date;heure;foyer"),
        ("ar", "التاريخ,الوقت,الأسرة"),
    ],
)
def test_an_empty_sheet_in_the_readers_language_can_be_brought_in_again(block: Cast, language: str, first: str) -> None:
    client = Client(headers={"accept-language": language})
    client.force_login(account_of(block.caretaker), "allauth.account.auth_backends.AuthenticationBackend")
    for kind in ("households", "contributions", "visits"):
        sheet = client.get(reverse("import-template", args=[block.building.uid, kind]))
        assert upload(block, sheet.content, kind).status_code == 302
        if kind == "contributions":
            assert sheet.content.decode("utf-8-sig").startswith(first)
    assert client.get(reverse("import-template", args=[block.building.uid, "cats"])).status_code == 404


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from(["households", "contributions", "visits", "cats", ""]),
    content=st.one_of(
        st.binary(max_size=120),
        st.text(max_size=120).map(lambda text: ("date,household,drum,pails\n" + text).encode()),
    ),
)
def test_no_file_whatever_gives_a_fault_of_ours(block: Cast, kind: str, content: bytes) -> None:
    client = signed_in(block, "caretaker")
    sent = upload(block, content, kind, client)
    assert sent.status_code in (302, 422)
    if sent.status_code == 302:
        run = sent.headers["Location"]
        assert client.get(run).status_code == 200
        assert client.get(f"{run}refused.csv").status_code == 200
        assert client.post(run).status_code == 302
        assert client.get(run).status_code == 200


@pytest.mark.parametrize(
    "cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1", "|calc", "%x", "\n", "\u00a0=1"]
)
def test_a_cell_that_a_program_would_run_gets_an_apostrophe(cell: str) -> None:
    assert safe_cell(cell) == f"'{cell}"
    assert safe_cell("Flat 3 = mine") == "Flat 3 = mine"
    assert safe_cell(3) == "3"
    assert (safe_cell(-3), safe_cell(Decimal("-3.50"))) == ("-3", "-3.50")  # or what was taken back adds up to nothing


def test_a_cell_with_line_ends_or_quotes_stays_one_cell() -> None:
    content = csv_file("x.csv", [['a "b"\nc', "d"]]).content.decode("utf-8-sig")
    assert content == '"a ""b""\nc",d\r\n'


def test_a_household_without_people_can_be_brought_in_and_logged_for(block: Cast) -> None:
    run = upload(block, b"household\nFlat 8\n", "households").headers["Location"]
    signed_in(block, "caretaker").post(run)
    with inside(block.building.uid) as here:
        assert Household.objects.within(here).filter(label="Flat 8").exists()
    go_outside()
    page = signed_in(block, "caretaker").get(reverse("on-behalf", args=[block.building.uid])).content.decode()
    assert "Flat 8" in page
