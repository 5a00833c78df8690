"""Set times, plans and reminders on pages and by the API: what each shows, and to whom."""

import datetime as dt
import re
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from households.models import Absence, Booking, Closure, FeedKey, Person, Slot, Wish
from households.tenancy import inside
from tests.bins.slots.slotted import SATURDAY, TUESDAY, book_in, home, shut, slot_in
from tests.cast import NOW, Cast, account_of, newcomer
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded


@pytest.fixture(autouse=True)
def _on_that_monday() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def browser(person: Person | None) -> Client:
    client = Client()
    if person is not None:
        client.force_login(account_of(person), backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


def text(response: Any) -> str:
    """The words of a page."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def a_slot(cast: Cast, **more: Any) -> Slot:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, **more)
    go_outside()
    return slot


def at(cast: Cast, name: str, *args: Any) -> str:
    return reverse(name, args=[cast.building.uid, *args])


def test_everybody_sees_free_places_and_nobody_who_comes_or_how_many(cast: Cast) -> None:
    slot = a_slot(cast, households=3)
    with inside(cast.building.uid) as here:
        book_in(here, slot, cast.resident)
    go_outside()
    for person in (None, cast.neighbour, cast.caretaker, cast.committee):
        words = text(browser(person).get(at(cast, "week")))
        assert "5 places are free on these seven days." in words
        assert "2 places are free." in words
        assert "3 places are free." in words
        assert not any(word in words for word in ("Imani", "Flat 3", "1 household", "you come"))
    assert "you come" in text(browser(cast.resident).get(at(cast, "week")))


def test_who_scans_the_sign_finds_the_set_times_where_there_are_any(cast: Cast) -> None:
    page = at(cast, "hatch", cast.drum.uid)
    assert at(cast, "week") not in browser(None).get(page).content.decode()
    a_slot(cast)
    assert at(cast, "week") in browser(None).get(page).content.decode()


def test_a_place_is_taken_shown_and_given_up(cast: Cast) -> None:
    slot, client = a_slot(cast), browser(cast.resident)
    assert "You are down for nothing" in text(client.get(at(cast, "mine")))
    sent = {"uid": str(uuid4()), "slot": str(slot.uid), "day": "2026-05-09", "from": "2026-05-04"}
    for _ in range(2):  # the same uid twice is one booking
        assert client.post(at(cast, "week-book"), sent).status_code == 302
    words = text(client.get(at(cast, "mine")))
    assert "Your next time is Saturday, May 9, 6 p.m. to 7 p.m., at drum 1." in words
    assert "Your next time is Saturday, May 9" in text(client.get(at(cast, "building"))), "at home too"
    client.post(at(cast, "booking-cancel", sent["uid"]))
    client.post(at(cast, "booking-cancel", sent["uid"]))
    with inside(cast.building.uid) as here:
        assert [row.state for row in Booking.objects.within(here)] == ["cancelled"]


def test_who_is_refused_a_place_reads_why_on_the_same_seven_days(cast: Cast) -> None:
    slot = a_slot(cast, households=1)
    with inside(cast.building.uid) as here:
        book_in(here, slot, cast.neighbour, dt.date(2026, 5, 16))
    go_outside()
    sent = {"uid": str(uuid4()), "slot": str(slot.uid), "day": "2026-05-16", "from": "2026-05-11"}
    response = browser(cast.resident).post(at(cast, "week-book"), sent)
    assert response.status_code == 422
    assert "The last place is gone." in text(response)
    assert "Saturday, May 16" in text(response)


def test_a_neighbours_booking_is_not_there(cast: Cast) -> None:
    slot = a_slot(cast)
    with inside(cast.building.uid) as here:
        row = book_in(here, slot, cast.neighbour)
    go_outside()
    assert browser(cast.resident).post(at(cast, "booking-cancel", row.uid)).status_code == 404


def test_a_time_that_is_off_says_where_to_go_instead(cast: Cast) -> None:
    from bins.slots.moving import settle_slots
    from households.ledger import open_ledger

    slot = a_slot(cast)
    with inside(cast.building.uid) as here:
        book_in(here, slot, cast.resident)
        shut(here, cast)
        with open_ledger(here) as ledger:
            settle_slots(ledger.building, NOW)
    go_outside()
    words = text(browser(cast.resident).get(at(cast, "mine")))
    assert "Nothing is open at your next time" in words
    assert "the brown bin by the gate" in words
    assert "Nothing is open." in text(browser(None).get(at(cast, "week")))


@pytest.mark.parametrize("from_", ["2026-04-01", "nonsense", "9999-12-31", "2026-05-25"])
def test_the_week_begins_today_at_the_earliest_and_in_four_weeks_at_the_latest(cast: Cast, from_: str) -> None:
    a_slot(cast)
    response = browser(None).get(at(cast, "week") + f"?from={from_}")
    assert response.status_code == 200
    assert "places are free" in text(response)


def test_the_caretaker_sets_changes_and_ends_a_time(cast: Cast) -> None:
    client, site = browser(cast.caretaker), cast.drum.site.uid
    wrong = client.post(at(cast, "slot-setup", site), {"uid": str(uuid4()), "begins_at": "late", "name": "Gate"})
    assert wrong.status_code == 422
    assert 'value="Gate"' in wrong.content.decode()
    assert "On which days?" in text(wrong)
    sent = {"uid": str(uuid4()), "weekdays": ["TU", "SA"], "begins_at": "18:00", "minutes": "45", "households": "4"}
    assert client.post(at(cast, "slot-setup", site), sent).status_code == 302
    words = text(client.get(at(cast, "slot-setup", site)))
    assert "Tuesday, Saturday, 6 p.m. to 6:45 p.m." in words
    assert "Room for 4 households at each drum." in words
    client.post(at(cast, "slot", sent["uid"]), {"begins_at": "19:00", "minutes": "45"})
    words = text(client.get(at(cast, "slot-setup", site)))
    assert "7 p.m. to 7:45 p.m." in words
    assert "Room as the open hatch can take." in words
    client.post(at(cast, "slot-end", sent["uid"]))
    assert "Until May 4, 2026." in text(client.get(at(cast, "slot-setup", site)))


def test_the_caretaker_closes_days_and_everybody_reads_why(cast: Cast) -> None:
    a_slot(cast)
    client, site = browser(cast.caretaker), cast.drum.site.uid
    sent = {"uid": str(uuid4()), "first_day": "2026-05-09", "last_day": "2026-05-09", "words": "Yard fair"}
    assert client.post(at(cast, "closure-add", site), sent).status_code == 302
    assert "Closed: Yard fair" in text(browser(None).get(at(cast, "week")))
    assert client.post(at(cast, "closure-open", sent["uid"])).status_code == 302
    with inside(cast.building.uid) as here:
        assert not Closure.objects.within(here).exists()


def test_one_page_takes_absences_wishes_and_how_often(cast: Cast) -> None:
    slot, client = a_slot(cast), browser(cast.resident)
    with inside(cast.building.uid) as here:
        book_in(here, slot, cast.resident, SATURDAY)
    go_outside()
    away = {"uid": str(uuid4()), "first_day": "2026-05-08", "last_day": "2026-05-20"}
    page = client.post(at(cast, "absence-add"), away, follow=True)
    assert "You are away from May 8, 2026 to May 20, 2026." in text(page)
    assert "1 time of yours is free for others now." in text(page)
    wishes = {"visits_in_four_weeks": "2", f"wish-{slot.uid}": "cannot"}
    assert client.post(at(cast, "plan"), wishes).status_code == 302
    with inside(cast.building.uid) as here:
        assert [wish.answer for wish in Wish.objects.within(here)] == ["cannot"]
        home(cast.resident).refresh_from_db()
        assert home(cast.resident).visits_in_four_weeks == 2
        assert [row.state for row in Booking.objects.within(here)] == ["cancelled"]
    go_outside()
    assert "May 8" not in text(browser(cast.neighbour).get(at(cast, "plan"))), "an absence is its household's own"
    assert client.post(at(cast, "absence-remove", away["uid"])).status_code == 302
    assert client.post(at(cast, "absence-remove", away["uid"])).status_code == 404


def test_a_wish_for_what_is_not_there_and_days_that_are_over_are_refused_with_what_was_filled_in(cast: Cast) -> None:
    client = browser(cast.resident)
    assert client.post(at(cast, "plan"), {f"wish-{uuid4()}": "can"}).status_code == 422
    over = {"uid": str(uuid4()), "first_day": "2026-04-01", "last_day": "2026-04-02"}
    response = client.post(at(cast, "absence-add"), over)
    assert response.status_code == 422
    assert 'value="2026-04-01"' in response.content.decode()


def test_the_channel_and_the_address_are_ones_own(cast: Cast) -> None:
    client = browser(cast.resident)
    wrong = client.post(at(cast, "contact"), {"channel": "sms", "phone": "0151 2345678"})
    assert wrong.status_code == 422
    assert "0151 2345678" in wrong.content.decode()
    assert client.post(at(cast, "contact"), {"channel": "sms", "phone": "+49 151 2345678"}).status_code == 302
    assert "We remind you by text message." in text(client.get(at(cast, "contact")))
    made = client.post(at(cast, "feed-new")).content.decode()
    address = re.search(r"http://testserver(/b/[^<]+\.ics)", made)
    assert address is not None
    assert Client().get(address.group(1)).status_code == 200
    assert address.group(1) not in client.get(at(cast, "contact")).content.decode(), "it is shown once"
    client.post(at(cast, "feed-end"))
    assert Client().get(address.group(1)).status_code == 404


def test_who_books_says_how_much_and_is_offered_no_more_than_fits(cast: Cast) -> None:
    slot, client = a_slot(cast, households=5, pails=3), browser(cast.resident)
    page = client.get(at(cast, "week")).content.decode()
    assert re.findall(r'<option value="(\d+)"', page.split("</select>")[0]) == ["4", "8", "12"]
    sent = {"uid": str(uuid4()), "slot": str(slot.uid), "day": "2026-05-05", "quarter_pails": "8"}
    too_much = client.post(at(cast, "week-book"), sent | {"quarter_pails": "16"})
    assert (too_much.status_code, "There is room for fewer pails at that time." in text(too_much)) == (422, True)
    assert client.post(at(cast, "week-book"), sent).status_code == 302
    assert "Drum 1, Courtyard , 2 pails" in text(client.get(at(cast, "mine")))
    with inside(cast.building.uid) as here:
        assert Booking.objects.within(here).get().quarter_pails == 8
    go_outside()
    # One pail is left: nothing to choose from.
    assert "<select" not in browser(cast.neighbour).get(at(cast, "week")).content.decode().split("May 9")[0]


def test_a_time_is_booked_for_somebody_without_a_phone_and_given_up(cast: Cast) -> None:
    slot, client, page = a_slot(cast), browser(cast.caretaker), at(cast, "book-for")
    assert page in client.get(at(cast, "week")).content.decode()
    seen = text(client.get(page))
    assert "Book a time for somebody without a phone." in seen
    assert "Tuesday, May 5, 6 p.m. to 7 p.m.: 2 places are free." in seen
    sent = {
        "uid": str(uuid4()),
        "household": str(home(cast.neighbour).uid),
        "time": f"{slot.uid}/2026-05-05",
        "quarter_pails": "8",
    }
    wrong = client.post(page, sent | {"household": "", "quarter_pails": "99"})
    assert wrong.status_code == 422
    assert "Who comes? Choose the household." in text(wrong)
    for _ in range(2):  # the same uid twice is one booking
        assert client.post(page, sent).status_code == 302
    assert "Flat 5 : Tuesday, May 5" in text(client.get(page))
    # Whoever does have a phone there sees it as any other.
    assert "Your next time is Tuesday, May 5" in text(browser(cast.neighbour).get(at(cast, "mine")))
    assert browser(cast.resident).get(page).status_code == 404
    assert client.post(at(cast, "book-for-cancel", sent["uid"])).status_code == 302
    with inside(cast.building.uid) as here:
        assert [(row.state, row.cause) for row in Booking.objects.within(here)] == [("cancelled", "household")]


def test_what_households_booked_themselves_is_none_of_the_caretakers_business(cast: Cast) -> None:
    slot, client = a_slot(cast), browser(cast.caretaker)
    with inside(cast.building.uid) as here:
        row = book_in(here, slot, cast.resident)
    go_outside()
    assert "Flat 3 :" not in text(client.get(at(cast, "book-for")))
    assert client.post(at(cast, "book-for-cancel", row.uid)).status_code == 404


def test_whoever_booked_for_others_reads_whom_to_tell_there_and_on_the_days_list(cast: Cast) -> None:
    slot, client = a_slot(cast), browser(cast.caretaker)
    sent = {"uid": str(uuid4()), "household": str(home(cast.neighbour).uid), "time": f"{slot.uid}/2026-05-05"}
    client.post(at(cast, "book-for"), sent)
    closed = {"uid": str(uuid4()), "first_day": "2026-05-05", "words": "Yard fair"}
    client.post(at(cast, "closure-add", cast.drum.site.uid), closed)
    seen = text(client.get(at(cast, "book-for")))
    assert "Somebody must be told: 1 time does not take place as booked." in seen
    assert "It does not take place. Please tell them, and book another time." in seen
    assert "A time on May 5 that was booked here does not take place as booked." in text(client.get(at(cast, "today")))


def test_days_that_return_each_year_are_closed_and_shown_as_such(cast: Cast) -> None:
    a_slot(cast)
    client, site = browser(cast.caretaker), cast.drum.site.uid
    sent = {
        "uid": str(uuid4()),
        "first_day": "2025-12-24",
        "last_day": "2025-12-26",
        "words": "Holidays",
        "each_year": "yes",
    }
    too_long = client.post(at(cast, "closure-add", site), sent | {"last_day": "2026-12-24"})
    assert (too_long.status_code, "less than a year" in text(too_long)) == (422, True)
    assert client.post(at(cast, "closure-add", site), sent).status_code == 302
    assert "December 24 to December 26, each year" in text(client.get(at(cast, "slot-setup", site)))
    with time_machine.travel(dt.datetime(2026, 12, 20, 12, tzinfo=dt.UTC), tick=False):
        assert "Saturday, December 26 6 p.m. to 7 p.m. Closed: Holidays" in text(browser(None).get(at(cast, "week")))


def test_the_api_does_what_the_pages_do(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        resident, caretaker = give_token(here, cast.resident), give_token(here, cast.caretaker)
    go_outside()

    def ask(token: str, method: str, name: str, *args: Any, data: Any = None) -> Any:
        headers = {"Authorization": f"Bearer {token}"} if token else {}
        send = getattr(Client(), method)
        more = {"data": data or {}, "content_type": "application/json"} if method == "post" else {}
        return send(at(cast, name, *args), headers=headers, **more)

    slot = {
        "uid": str(uuid4()), "site": str(cast.drum.site.uid), "rule": "FREQ=WEEKLY;BYDAY=TU,SA", "begins_at": "18:00",
        "households": 2,
    }  # fmt: skip
    made = ask(caretaker, "post", "api-slots", data=slot)
    assert (made.status_code, made.json()["rule"], made.json()["begins_at"]) == (200, slot["rule"], "18:00")
    ahead = ask("", "get", "api-slots").json()
    assert [(one["day"], one["free"], one["begins_at"]) for one in ahead] == [
        ("2026-05-05", 2, "2026-05-05T16:00:00Z"), ("2026-05-09", 2, "2026-05-09T16:00:00Z"),
    ]  # fmt: skip
    wants = {"uid": str(uuid4()), "slot": slot["uid"], "day": "2026-05-09"}
    first, again = (ask(resident, "post", "api-bookings", data=wants) for _ in range(2))
    assert (first.status_code, again.status_code, first.json() == again.json()) == (201, 200, True)
    other = ask(resident, "post", "api-bookings", data=wants | {"day": "2026-05-05"})
    assert (other.status_code, other.json()["type"]) == (422, "/problems/uid-reused/")
    assert ask(resident, "get", "api-bookings").json()[0]["drum"] == 1
    away = {"uid": str(uuid4()), "first_day": "2026-05-20"}
    assert ask(resident, "post", "api-absences", data=away).status_code == 201
    assert set(ask(resident, "get", "api-absences").json()[0]) == {"uid", "first_day", "last_day"}
    assert ask(caretaker, "get", "api-absences").json()[0]["household"] == str(home(cast.resident).uid)
    closed = {"uid": str(uuid4()), "site": slot["site"], "first_day": "2026-05-09", "words": "paved"}
    assert ask(caretaker, "post", "api-closures", data=closed).status_code == 200
    assert ask("", "get", "api-closures").json()[0]["words"] == "paved"
    assert ask(resident, "get", "api-bookings").json() == []
    assert ask(caretaker, "post", "api-closure-open", closed["uid"]).status_code == 204
    yearly = ask(caretaker, "post", "api-closures", data=closed | {"uid": str(uuid4()), "each_year": True}).json()
    assert (yearly["each_year"], ask("", "get", "api-closures").json()[0]["each_year"]) == (True, True)
    assert ask(caretaker, "post", "api-closure-open", yearly["uid"]).status_code == 204
    behalf = {"uid": str(uuid4()), "slot": slot["uid"], "day": "2026-05-12", "household": str(home(cast.neighbour).uid)}
    for status in (201, 200):
        assert ask(caretaker, "post", "api-bookings-on-behalf", data=behalf).status_code == status
    assert ask(caretaker, "get", "api-bookings-on-behalf").json()[0]["household"] == behalf["household"]
    assert ask(resident, "get", "api-bookings-on-behalf").status_code == 404
    given_up = ask(caretaker, "post", "api-booking-on-behalf-cancel", behalf["uid"]).json()
    assert (given_up["state"], given_up["cause"]) == ("cancelled", "household")
    wishes = {"visits_in_four_weeks": 4, "wishes": [{"uid": slot["uid"], "answer": "prefer"}]}
    kept = ask(resident, "post", "api-wishes", data=wishes).json()
    assert kept == {
        "visits_in_four_weeks": 4, "slots": [{"uid": slot["uid"], "answer": "prefer"}], "duties": [],
    }  # fmt: skip
    assert ask(resident, "post", "api-wishes", data={"wishes": "x"}).status_code == 422
    assert ask(resident, "post", "api-contact", data={"channel": "none"}).json()["channel"] == "none"
    address = ask(resident, "post", "api-feed").json()["address"]
    assert Client().get(address.removeprefix("http://testserver")).status_code == 200
    assert ask(resident, "post", "api-feed-end").status_code == 204
    assert ask(caretaker, "post", "api-slot", slot["uid"], data={"begins_at": "19:00"}).json()["begins_at"] == "19:00"
    assert ask(caretaker, "post", "api-slot-end", slot["uid"]).json()["last_day"] == "2026-05-04"


@pytest.mark.parametrize(
    ("name", "who"),
    [("week", "resident"), ("week", ""), ("mine", "resident"), ("plan", "resident"), ("book-for", "caretaker")],
)
def test_queries_do_not_grow_with_the_list(cast: Cast, name: str, who: str) -> None:
    slot = a_slot(cast, households=9)
    client = browser(cast.people[who] if who else None)
    with inside(cast.building.uid) as here:
        book_in(here, slot, cast.resident, TUESDAY)
        Booking.objects.within(here).update(by_proxy=True)
    go_outside()
    client.get(at(cast, name))
    with CaptureQueriesContext(connection) as few:
        client.get(at(cast, name))
    others = [newcomer(cast.building, f"Wim{n}", f"Flat {20 + n}", "resident") for n in range(4)]
    with inside(cast.building.uid) as here:
        for person in others:
            book_in(here, slot, person, TUESDAY)
        for week in range(1, 4):
            book_in(here, slot, cast.resident, TUESDAY + dt.timedelta(weeks=week))
            slot_in(here, cast, begins_at=f"1{week}:00")
            Absence.objects.create(
                building=here, uid=uuid4(), household=home(cast.resident), first_day=NOW.date(), last_day=NOW.date()
            )
        Booking.objects.within(here).update(by_proxy=True)
    go_outside()
    with CaptureQueriesContext(connection) as many:
        client.get(at(cast, name))
    assert len(many) == len(few)
    assert FeedKey.objects.count() == 0
