"""A drum whose hatches turn apart, on its pages and over the API: set, ticked, told."""

import re
from uuid import UUID, uuid4

import pytest
import time_machine
from django.test import Client

from bins.models import Drum, Place, Visit
from households.models import Account
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, hang_tag, hatch, put_in
from tests.cast import NOW, Cast
from tests.coordinator.test_care_pages import as_, at, form_of, uid_in, words
from tests.coordinator.test_setup import SAID, answer, client_of
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded


def apart(cast: Cast) -> tuple[Place, Place]:
    """Its drum turns apart; A has worked since NOW, and B is open."""
    with inside(cast.building.uid) as here:
        Drum.objects.within(here).filter(uid=cast.drum.uid).update(turns="apart")
        put_in(here, batch_in(here, cast, "A"), "composting", NOW)
        hang_tag(cast, here, hatch(here, cast, "B"), NOW)
        found = hatch(here, cast, "A"), hatch(here, cast, "B")
    go_outside()
    return found


def turned(cast: Cast) -> list[tuple[bool, str]]:
    with inside(cast.building.uid) as here:
        rows = Visit.objects.within(here).select_related("turned_place").order_by("ledger_number")
        found = [(row.turned, row.turned_place.letter if row.turned_place else "") for row in rows]
    go_outside()
    return found


@pytest.mark.parametrize(
    ("ticked", "kept"), [("", (False, "")), ("A", (True, "A")), ("B", (True, "B")), ("AB", (True, ""))]
)
def test_a_visit_ticks_each_hatch_that_was_turned(cast: Cast, ticked: str, kept: tuple[bool, str]) -> None:
    a, b = apart(cast)
    caretaker = as_(cast.caretaker)
    form = next(
        form
        for form in re.findall(r"<form.*?</form>", caretaker.get(at(cast, "today")).content.decode(), re.S)
        if 'name="level"' in form
    )
    assert "Which hatch did you turn?" in form
    assert 'name="turned"' not in form
    ticks = {f"turned-{place.uid}": "yes" for place in (a, b) if place.letter in ticked}
    assert all(f'type="checkbox" name="turned-{place.uid}"' in form for place in (a, b))
    sent = {"uid": uid_in(form), "drum": str(cast.drum.uid), "level": "half", "trouble": "nothing"}
    assert caretaker.post(at(cast, "today"), sent | ticks).status_code == 302
    assert turned(cast) == [kept]


def test_a_tick_comes_back_with_a_form_that_has_a_fault(cast: Cast) -> None:
    a, b = apart(cast)
    sent = {"uid": str(uuid4()), "drum": str(cast.drum.uid), f"turned-{a.uid}": "yes", "air": "warm"}
    page = as_(cast.caretaker).post(at(cast, "today"), sent).content.decode()
    assert f'name="turned-{a.uid}" value="yes" checked' in page
    assert f'name="turned-{b.uid}" value="yes" checked' not in page


def test_the_list_asks_for_each_hatch_and_one_done_leaves_the_other(cast: Cast) -> None:
    a, _b = apart(cast)
    caretaker = as_(cast.caretaker)
    with time_machine.travel(NOW + 3 * DAY, tick=False):
        page = caretaker.get(at(cast, "today"))
        assert "Turn hatch A of drum 1." in words(page)
        assert "Turn hatch B of drum 1." in words(page)
        tick = next(
            form
            for form in re.findall(r"<form.*?</form>", page.content.decode(), re.S)
            if f'<button class="button" name="turned-{a.uid}"' in form
        )
        sent = {"uid": uid_in(tick), "drum": str(cast.drum.uid), f"turned-{a.uid}": "yes"}
        assert caretaker.post(at(cast, "today"), sent).status_code == 302
        left = words(caretaker.get(at(cast, "today")))
        assert "Turn hatch A of drum 1." not in left
        assert "Turn hatch B of drum 1." in left
    assert turned(cast) == [(True, "A")]


def test_a_residents_turns_say_which_hatch(cast: Cast) -> None:
    a, b = apart(cast)
    resident = as_(cast.resident)
    form = form_of(resident.get(at(cast, "hatch", cast.drum.uid)).content.decode(), at(cast, "turned", cast.drum.uid))
    assert "I gave hatch A 5 turns" in form
    assert "I gave it 5 turns" not in form
    sent = {"uid": uid_in(form), "turned_place": str(b.uid)}
    assert resident.post(at(cast, "turned", cast.drum.uid), sent).status_code == 302
    assert turned(cast) == [(True, "B")]
    assert a.letter == "A"


def test_the_drums_page_sets_how_it_turns(cast: Cast) -> None:
    caretaker, address = as_(cast.caretaker), at(cast, "drum-care", cast.drum.uid)
    page = caretaker.get(address).content.decode()
    form = next(form for form in re.findall(r"<form.*?</form>", page, re.S) if 'name="turns"' in form)
    assert 'value="together" required checked' in form
    assert caretaker.post(address, {"uid": uid_in(form), "turns": "apart"}).status_code == 302
    assert 'value="apart" required checked' in caretaker.get(address).content.decode()
    with inside(cast.building.uid) as here:
        assert Drum.objects.within(here).get(uid=cast.drum.uid).turns == "apart"
        Drum.objects.within(here).filter(uid=cast.drum.uid).update(turns="together", split="along")
    go_outside()
    assert 'name="turns"' not in caretaker.get(address).content.decode()
    refused = caretaker.post(address, {"uid": str(uuid4()), "turns": "apart"})
    assert refused.status_code == 422
    assert "turns as one" in words(refused)


def test_the_set_up_asks_it_beside_the_split(db: None) -> None:
    client = client_of(Account.objects.create_user("ottilie.brandt@quince-court.invalid"))
    for step in ("block", "people"):
        answer(client, step, **SAID[step])
    refused = answer(client, "drums", **SAID["drums"], split="along", turns="apart")
    assert "turns as one" in words(refused)
    assert answer(client, "drums", **SAID["drums"], split="across", turns="apart").status_code == 302
    for step in ("contents", "pail", "full"):
        reply = answer(client, step, **SAID[step])
    with inside(UUID(reply.headers["Location"].split("/")[2])) as here:
        assert [drum.turns for drum in Drum.objects.within(here)] == ["apart"]
    go_outside()


def test_the_api_tells_and_takes_the_hatch(cast: Cast) -> None:
    a, b = apart(cast)

    def post(secret: str, path: str, **body: object) -> dict[str, object]:
        reply = Client(headers={"authorization": f"Bearer {secret}"}).post(
            f"/api/buildings/{cast.building.uid}/{path}", body, content_type="application/json"
        )
        assert reply.status_code in (200, 201), reply.content
        found: dict[str, object] = reply.json()
        return found

    with inside(cast.building.uid) as here:
        super_, resident = give_token(here, cast.caretaker), give_token(here, cast.resident)
    go_outside()
    drum = str(cast.drum.uid)
    one = post(super_, "visits/", uid=str(uuid4()), drum=drum, turned=True, turned_place=str(a.uid))
    assert (one["turned"], one["turned_place"]) == (True, str(a.uid))
    other = post(resident, "turnings/", uid=str(uuid4()), drum=drum, turned_place=str(b.uid))
    assert other["turned_place"] == str(b.uid)
    post(super_, f"drums/{drum}/turning/", uid=str(uuid4()), turns="together")
    assert post(super_, "visits/", uid=str(uuid4()), drum=drum, turned=True)["turned_place"] is None
    assert turned(cast) == [(True, "A"), (True, "B"), (True, "")]
