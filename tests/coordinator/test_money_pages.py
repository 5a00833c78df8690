"""The cash list on its page, in the month and in the API: what each role sees, and what stays unnamed."""

import csv
import io
from collections.abc import Callable
from typing import Any
from uuid import uuid5

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from bins.money.cash import Cash, record_money
from households.models import Money, Person, Photo
from households.tenancy import inside
from tests.bins.pictures import taken_in_berlin
from tests.cast import NOW, Cast, account_of
from tests.filled import go_outside, live

pytestmark = [pytest.mark.embedded, pytest.mark.django_db]


@pytest.fixture
def client_of(cast: Cast, time_machine: Any) -> Callable[[Person], Client]:
    time_machine.move_to(NOW, tick=False)

    def sign_in(person: Person) -> Client:
        client = Client()
        client.force_login(account_of(person), backend="allauth.account.auth_backends.AuthenticationBackend")
        return client

    return sign_in


def write(cast: Cast, number: int = 0, by: Person | None = None, **raw: Any) -> Money:
    with inside(cast.building.uid) as here:
        usual = {"uid": uuid5(here.uid, f"cash {number}"), "way": "out", "amount": "12.40", "purpose": "browns"}
        row = record_money(
            building=here, told=Cash.from_raw(usual | raw, 2), names_others=True, person=by or cast.caretaker,
            via="web", now=NOW,
        ).row  # fmt: skip
    go_outside()
    return row


def money_page(cast: Cast, client: Client) -> str:
    return client.get(reverse("money", args=[cast.building.uid, 2026, 5])).content.decode()


def test_a_row_with_its_receipt_is_written_down_and_the_receipt_says_no_place(
    cast: Cast, client_of: Callable[[Person], Client]
) -> None:
    client = client_of(cast.caretaker)
    receipt = io.BytesIO(taken_in_berlin())
    receipt.name = "receipt.jpg"
    values = {
        "uid": str(uuid5(cast.building.uid, "sent")), "way": "out", "amount": "12,40", "purpose": "browns",
        "purse": "box", "words": "Sawmill", "photos": receipt,
    }  # fmt: skip
    answer = client.post(reverse("money", args=[cast.building.uid, 2026, 5]), values)
    assert answer.status_code == 302
    page = money_page(cast, client)
    assert "Sawmill" in page
    assert "€12.40" in page
    with inside(cast.building.uid) as here:
        photo = Photo.objects.within(here).get()
    go_outside()
    address = reverse("receipt", args=[cast.building.uid, photo.uid])
    assert address in page
    sent = client.get(address)
    assert sent["Content-Type"] == "image/jpeg"
    assert dict(Image.open(io.BytesIO(sent.content)).getexif()) == {}
    assert client_of(cast.resident).get(address).status_code == 404


def test_what_is_wrong_is_said_at_its_field_and_what_was_typed_is_kept(
    cast: Cast, client_of: Callable[[Person], Client]
) -> None:
    values = {
        "uid": str(uuid5(cast.building.uid, "sent")),
        "way": "out",
        "amount": "",
        "purpose": "gift",
        "words": "Kept",
    }
    answer = client_of(cast.caretaker).post(reverse("money", args=[cast.building.uid, 2026, 5]), values)
    assert answer.status_code == 422
    assert "How much was it?" in answer.content.decode()
    assert 'value="Kept"' in answer.content.decode()


def test_whom_it_is_owed_to_is_named_to_the_super_and_to_nobody_else(
    cast: Cast, client_of: Callable[[Person], Client]
) -> None:
    write(cast, purse="own", owed_to=str(cast.neighbour.uid))
    assert "€12.40 to Sorin" in money_page(cast, client_of(cast.caretaker))
    for other in (cast.committee, cast.checker):
        page = money_page(cast, client_of(other))
        assert "to somebody here" in page
        assert "Sorin" not in page
    api = reverse("api-money", args=[cast.building.uid])
    assert client_of(cast.caretaker).get(api).json()[0]["owed_to"] == str(cast.neighbour.uid)
    assert "owed_to" not in client_of(cast.committee).get(api).json()[0]
    for address in (api, reverse("money", args=[cast.building.uid, 2026, 5])):
        assert client_of(cast.resident).get(address).status_code == 404


def test_once_it_is_paid_back_the_name_is_gone(cast: Cast, client_of: Callable[[Person], Client]) -> None:
    row = write(cast, purse="own", owed_to=str(cast.neighbour.uid))
    client = client_of(cast.caretaker)
    client.post(reverse("money-back", args=[cast.building.uid, row.uid]))
    assert "to Sorin" not in money_page(cast, client)
    assert [one["owed_to"] for one in client.get(reverse("api-money", args=[cast.building.uid])).json()] == [None, None]


def test_a_person_reads_what_is_owed_to_themselves(cast: Cast, client_of: Callable[[Person], Client]) -> None:
    write(cast, by=cast.committee, purse="own")
    assert "€12.40 to Yusra" in money_page(cast, client_of(cast.committee))


def test_the_committees_limit_asks_for_another_persons_look(cast: Cast, client_of: Callable[[Person], Client]) -> None:
    committee, caretaker = client_of(cast.committee), client_of(cast.caretaker)
    values = {"uid": str(uuid5(cast.building.uid, "limit")), "above": "10", "why": "Two pairs of eyes"}
    assert committee.post(reverse("money-limit", args=[cast.building.uid]), values).status_code == 302
    assert (
        "Above this amount a second person looks at money: <bdi>€10.00</bdi>"
        in committee.get(reverse("committee", args=[cast.building.uid])).content.decode()
    )
    row = write(cast)
    assert "1 row waits for a second person" in money_page(cast, committee)
    look = reverse("money-look", args=[cast.building.uid, row.uid])
    assert look not in money_page(cast, caretaker)  # who wrote it
    caretaker.post(look)
    assert "1 row waits" in money_page(cast, committee)
    committee.post(look)
    assert "1 row waits" not in money_page(cast, committee)
    assert "two people looked" in money_page(cast, committee)


def test_the_month_shows_the_money_and_what_it_cost_each_and_no_name(
    cast: Cast, client_of: Callable[[Person], Client]
) -> None:
    live(cast)  # one drop-off of a pail stands: 3600 g of one household
    write(cast, 1, way="in", purpose="fee", amount="50")
    write(cast, 2, amount="12.40", purse="own", owed_to=str(cast.neighbour.uid))
    page = client_of(cast.resident).get(reverse("month", args=[cast.building.uid, 2026, 5])).content.decode()
    for amount in ("€50.00", "€37.60"):
        assert amount in page
    assert "Cost for each household" in page
    assert "€344.44" in page  # 12.40 for 3.6 kg, so for each 100 kg
    assert "Sorin" not in page
    api = client_of(cast.committee).get(reverse("api-money-month", args=[cast.building.uid, 2026, 5])).json()
    assert (api["cost_per_household"], api["cost_per_100_kg"]) == (1240, 34444)


def test_the_page_asks_no_more_of_the_database_with_more_rows(
    cast: Cast, client_of: Callable[[Person], Client]
) -> None:
    client = client_of(cast.caretaker)
    write(cast, purse="own", owed_to=str(cast.neighbour.uid))
    asked = []
    for extra in (0, 15):
        for number in range(1, extra + 1):
            write(cast, number, purse=("own", "box")[number % 2])
        for address in (
            reverse("money", args=[cast.building.uid, 2026, 5]),
            reverse("api-money", args=[cast.building.uid]),
            reverse("api-money-month", args=[cast.building.uid, 2026, 5]),
        ):
            client.get(address)
            with CaptureQueriesContext(connection) as queries:
                client.get(address)
            asked.append(len(queries))
    assert asked[:3] == asked[3:]


def test_the_api_writes_takes_back_and_adds_up(cast: Cast, client_of: Callable[[Person], Client]) -> None:
    client, uid = client_of(cast.caretaker), cast.building.uid
    sent = {"uid": str(uuid5(uid, "api")), "way": "in", "amount": 20.5, "purpose": "gift"}
    for status in (201, 200):
        answer = client.post(reverse("api-money", args=[uid]), sent, content_type="application/json")
        assert (answer.status_code, answer.json()["coins"]) == (status, 2050)
    again = client.post(reverse("api-money", args=[uid]), sent | {"amount": 21}, content_type="application/json")
    assert again.status_code == 422
    month = client.get(reverse("api-money-month", args=[uid, 2026, 5])).json()
    assert (month["currency"], month["came_in"], month["closing"]) == ("EUR", 2050, 2050)
    undone = client.post(reverse("api-money-undo", args=[uid, sent["uid"]])).json()
    assert (undone["coins"], undone["reverses"]) == (-2050, sent["uid"])
    assert client.get(reverse("api-money-month", args=[uid, 2026, 5])).json()["closing"] == 0


def test_a_part_is_paid_back_on_the_page_and_the_rest_is_still_named(
    cast: Cast, client_of: Callable[[Person], Client]
) -> None:
    row = write(cast, purse="own", owed_to=str(cast.neighbour.uid))
    client, address = client_of(cast.caretaker), reverse("money-back", args=[cast.building.uid, row.uid])
    sent = {"uid": str(uuid5(row.uid, "form")), "amount": "5,40"}
    for _ in range(2):
        page = client.post(address, sent, follow=True).content.decode()
    assert "€7.00 to Sorin" in page
    assert "of €12.40, the rest was paid back" in page
    too_much = client.post(address, {"uid": str(uuid5(row.uid, "form 2")), "amount": "7.01"}, follow=True)
    assert "That is more than is still owed." in too_much.content.decode()
    api = reverse("api-money-back", args=[cast.building.uid, row.uid])
    body = {"uid": str(uuid5(row.uid, "api")), "amount": 3}
    assert client.post(api, body, content_type="application/json").json()["coins"] == 300
    rows = {one["uid"]: one for one in client.get(reverse("api-money", args=[cast.building.uid])).json()}
    assert rows[str(row.uid)]["owed_coins"] == 400
    client.post(address)  # without a word: all that is left
    assert "to Sorin" not in money_page(cast, client)
    assert client.get(reverse("api-money-month", args=[cast.building.uid, 2026, 5])).json()["owed"] == 0


def test_a_receipt_comes_and_is_fetched_by_api(cast: Cast, client_of: Callable[[Person], Client]) -> None:
    client, uid = client_of(cast.caretaker), cast.building.uid

    def sent() -> dict[str, Any]:
        receipts = [io.BytesIO(taken_in_berlin()) for _ in range(2)]
        for number, receipt in enumerate(receipts):
            receipt.name = f"receipt-{number}.jpg"
        record = {"uid": str(uuid5(uid, "with photos")), "way": "out", "amount": "12.40", "purpose": "browns"}
        return record | {"photos": receipts}

    answers = [client.post(reverse("api-money", args=[uid]), sent()) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 200]
    photos = answers[0].json()["photos"]
    assert (len(photos), answers[1].json()["photos"]) == (2, photos)
    picture = client.get(reverse("api-receipt", args=[uid, photos[0]]), headers={"accept": "image/jpeg"})
    assert (picture.status_code, picture["Content-Type"]) == (200, "image/jpeg")
    assert dict(Image.open(io.BytesIO(picture.content)).getexif()) == {}
    assert client_of(cast.resident).get(reverse("api-receipt", args=[uid, photos[0]])).status_code == 404
    four = sent() | {"uid": str(uuid5(uid, "four"))}
    four["photos"] = [*four["photos"], *sent()["photos"]]
    assert client.post(reverse("api-money", args=[uid]), four).status_code == 422
    no_picture = io.BytesIO(b"no picture")
    no_picture.name = "receipt.jpg"
    wrong = sent() | {"uid": str(uuid5(uid, "wrong")), "photos": no_picture}
    assert client.post(reverse("api-money", args=[uid]), wrong).status_code == 422


def test_the_cash_list_is_a_file_whose_amounts_add_up(cast: Cast, client_of: Callable[[Person], Client]) -> None:
    write(cast, 1, way="in", purpose="fee", amount="50", words="=1+1")
    row = write(cast, 2, amount="12.40", purse="own", owed_to=str(cast.neighbour.uid))
    client = client_of(cast.committee)
    client.post(reverse("money-back", args=[cast.building.uid, row.uid]))
    answer = client.get(reverse("money-csv", args=[cast.building.uid, 2026, 5]))
    rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [(line[2], line[5], line[6]) for line in rows[1:]] == [
        ("'=1+1", "50.00", "EUR"),
        ("", "-12.40", "EUR"),
        ("", "-12.40", "EUR"),
    ]
    assert "Sorin" not in answer.content.decode()
    assert client_of(cast.resident).get(answer.request["PATH_INFO"]).status_code == 404


def test_older_rows_follow_by_api(cast: Cast, client_of: Callable[[Person], Client], monkeypatch: Any) -> None:
    monkeypatch.setattr("coordinator.api.money.PAGE", 2)
    for number in range(5):
        write(cast, number, amount=str(number + 1))
    client, address, seen = client_of(cast.committee), reverse("api-money", args=[cast.building.uid]), []
    page = client.get(address).json()
    while page:
        seen += [one["coins"] for one in page]
        page = client.get(address, {"before": page[-1]["uid"]}).json()
    assert seen == [500, 400, 300, 200, 100]


def test_page_report_file_and_api_tell_one_cost_for_each_household(
    cast: Cast, client_of: Callable[[Person], Client]
) -> None:
    """Two households live here and one brings: all four divide by the one."""
    live(cast)
    write(cast, amount="12.40")
    client, month = client_of(cast.committee), [cast.building.uid, 2026, 5]
    report = [cast.building.uid, "month", 2026, 5]
    assert "€12.40" in client.get(reverse("month", args=month)).content.decode()
    api = client.get(reverse("api-money-month", args=month)).json()
    rows = csv.reader(io.StringIO(client.get(reverse("report-csv", args=report)).content.decode("utf-8-sig")))
    told = {row[1]: (row[2], row[4]) for row in rows}
    assert told["Cost for each household"] == (str(api["cost_per_household"]), "€12.40")
    assert told["Cost for each 100 kg"] == (str(api["cost_per_100_kg"]), "€344.44")
