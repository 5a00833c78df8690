"""Care on the pages and over the API: the visit, the lot's page, the hatches, a resident's turns."""

import datetime as dt
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bins.care.due import work_due
from bins.decisions.gather import settings_of
from bins.forecasts.books import climate
from bins.models import Batch, Contribution, Drum, MaturityTest, Movement, Place, Reading, StageChange, Visit
from bins.process.model.border import Climate
from households.models import Person, Site
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, close, fresh, hang_tag, hatch, override, pail, put_in, visit
from tests.cast import NOW, Cast, account_of
from tests.cast import found as found_house
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded

LATER = NOW + 52 * DAY  # a lot closed at NOW is asked for its squeeze


def as_(person: Person) -> Client:
    client = Client()
    client.force_login(account_of(person), backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


def at(cast: Cast, name: str, *args: object) -> str:
    return reverse(name, args=[cast.building.uid, *args])


def form_of(page: str, action: str) -> str:
    found = re.search(rf'<form[^>]*action="{re.escape(action)}".*?</form>', page, re.S)
    assert found, action
    return found[0]


def uid_in(form: str) -> str:
    found = re.search(r'name="uid" value="([\w-]+)"', form)
    assert found
    return found[1]


def words(response: Any) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


@pytest.fixture
def closed(cast: Cast) -> Iterator[Batch]:
    """The lot in hatch A has worked for 52 days; hatch B is open."""
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        close(cast, here, batch, NOW)
        visit(cast, here, LATER - DAY, level="quarter")
    go_outside()
    with time_machine.travel(LATER, tick=False):
        yield batch


def test_a_visit_asks_for_the_squeeze_that_a_decision_waits_for_with_why(cast: Cast, closed: Batch) -> None:
    caretaker = as_(cast.caretaker)
    page = caretaker.get(at(cast, "today")).content.decode()
    form = form_of(page, at(cast, "today"))
    asked = form[: form.index("<details")]
    assert f'name="squeeze-{closed.uid}"' in asked
    assert "it must not be dry" in asked
    assert f'name="temperature-{closed.uid}"' not in asked
    # Yes, three quarters, one or two drops, and the button: what needs a tap in a visit with nothing wrong.
    required = set(re.findall(r'type="radio" name="([\w-]+)"', asked))
    assert len(required) + 1 <= 5
    sent = {"uid": uid_in(form), "drum": str(cast.drum.uid), "turned": "yes", "level": "half", "trouble": "nothing"}
    answer = caretaker.post(at(cast, "today"), sent | {f"squeeze-{closed.uid}": "right"})
    assert answer.status_code == 302
    with inside(cast.building.uid) as here:
        assert Reading.objects.within(here).get(kind="squeeze").batch == closed
    go_outside()
    assert f'name="squeeze-{closed.uid}"' not in form_of(
        caretaker.get(at(cast, "today")).content.decode().split("<details")[0] + "</form>", at(cast, "today")
    )


def test_a_wrong_number_comes_back_at_its_field_with_the_rest_kept(cast: Cast, closed: Batch) -> None:
    sent = {
        "uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": "yes", "level": "half",
        f"temperature-{closed.uid}": "warm",
    }  # fmt: skip
    answer = as_(cast.caretaker).post(at(cast, "today"), sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="warm" aria-invalid="true"' in page
    assert re.search(r'name="level" value="half" checked', page)
    with inside(cast.building.uid) as here:
        assert Visit.objects.within(here).count() == 1  # the one of the fixture


def test_a_ticked_task_is_the_visits_record(cast: Cast) -> None:
    caretaker = as_(cast.caretaker)
    with time_machine.travel(NOW + 4 * DAY, tick=False):
        page = caretaker.get(at(cast, "today")).content.decode()
        tick = next(
            form for form in re.findall(r"<form.*?</form>", page, re.S) if 'name="turned" value="yes">Turned' in form
        )
        caretaker.post(at(cast, "today"), {"uid": uid_in(tick), "drum": str(cast.drum.uid), "turned": "yes"})
        assert "Turn drum 1." not in words(caretaker.get(at(cast, "today")))


def test_a_resident_says_that_the_drum_was_turned(cast: Cast) -> None:
    resident, address = as_(cast.resident), at(cast, "hatch", cast.drum.uid)
    with time_machine.travel(NOW + 4 * DAY, tick=False):
        form = form_of(resident.get(address).content.decode(), at(cast, "turned", cast.drum.uid))
        for _ in range(2):
            assert resident.post(at(cast, "turned", cast.drum.uid), {"uid": uid_in(form)}).status_code == 302
        with inside(cast.building.uid) as here:
            assert Visit.objects.within(here).get().attribution.household == cast.resident.household
            assert work_due(here, NOW + 4 * DAY)[cast.drum.uid].turning_due is False
        go_outside()
    assert "I gave it 5 turns" not in Client().get(address).content.decode()


def test_the_page_of_a_lot_tells_its_history_and_the_override_with_reason_and_name(cast: Cast, closed: Batch) -> None:
    with inside(cast.building.uid) as here:
        put_in(here, closed, "curing", LATER - DAY)
        override(cast, here, closed, LATER)
    go_outside()
    for person in (cast.caretaker, cast.committee):
        said = words(as_(person).get(at(cast, "batch", closed.uid)))
        assert "The lot in drum 1, hatch A : finished" in said.replace("A: ", "A : ")
        assert "Ottilie" in said
        assert "it smells of forest" in said
        assert "The super says so." in said
    assert "It was thrown out" not in words(as_(cast.committee).get(at(cast, "batch", closed.uid)))
    assert as_(cast.resident).get(at(cast, "batch", closed.uid)).status_code == 404


def test_a_lot_is_closed_called_back_and_thrown_out_from_its_page(cast: Cast) -> None:
    caretaker = as_(cast.caretaker)
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
    go_outside()
    with time_machine.travel(NOW + DAY, tick=False):
        for act, more in (
            ("closings", {}),
            ("steps-back", {"reason": "a slip"}),
            ("discards", {"reason": "glass in it", "litres": "40", "destination": "the tip"}),
        ):
            page = caretaker.get(at(cast, "batch", batch.uid)).content.decode()
            form = form_of(page, at(cast, "batch-act", batch.uid, act))
            answer = caretaker.post(at(cast, "batch-act", batch.uid, act), {"uid": uid_in(form)} | more)
            assert answer.status_code == 302, act
    with inside(cast.building.uid) as here:
        causes = StageChange.objects.within(here).filter(batch=batch).order_by("ledger_number")
        assert [row.cause for row in causes] == ["begun", "rule", "undone", "discarded"]


def test_a_refused_form_stays_open_with_what_was_filled_in(cast: Cast, closed: Batch) -> None:
    answer = as_(cast.caretaker).post(
        at(cast, "batch-act", closed.uid, "discards"), {"uid": str(uuid4()), "litres": "40", "destination": "the tip"}
    )
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "What is the reason?" in page
    assert re.search(r'name="destination"[^>]*value="the tip"', page)
    with inside(cast.building.uid) as here:
        assert not Movement.objects.within(here).exists()


def test_a_bag_is_begun_and_read_on_the_page(cast: Cast, closed: Batch) -> None:
    caretaker = as_(cast.caretaker)
    with inside(cast.building.uid) as here:
        put_in(here, closed, "curing", LATER - 20 * DAY)
    go_outside()
    assert "begin a test" in words(caretaker.get(at(cast, "today")))
    caretaker.post(at(cast, "batch-act", closed.uid, "tests"), {"uid": str(uuid4()), "kind": "bag"})
    with inside(cast.building.uid) as here:
        test = MaturityTest.objects.within(here).get()
    go_outside()
    with time_machine.travel(LATER + 7 * DAY, tick=False):
        assert "open the test bag and smell" in words(caretaker.get(at(cast, "today")))
        caretaker.post(at(cast, "test-result", test.uid), {"uid": str(uuid4()), "bad_smell": "no"})
        said = words(caretaker.get(at(cast, "batch", closed.uid)))
        assert "bag test, passed" in said
        assert "closed for 7 days" in said


def test_a_hatch_is_shut_and_opened_again_and_a_tag_hung_from_the_drums_page(cast: Cast) -> None:
    caretaker = as_(cast.caretaker)
    with inside(cast.building.uid) as here:
        a, b = hatch(here, cast, "A"), hatch(here, cast, "B")
        put_in(here, batch_in(here, cast, "A"), "composting", NOW)
    go_outside()
    with time_machine.travel(NOW + DAY, tick=False):
        for place, act, more in (
            (b, "openings", {}),
            (b, "shuttings", {"reason": "a needle"}),
            (b, "reopenings", {"looked": "yes"}),
        ):
            form = form_of(
                caretaker.get(at(cast, "drum-care", cast.drum.uid)).content.decode(),
                at(cast, "hatch-act", place.uid, act),
            )
            assert (
                caretaker.post(at(cast, "hatch-act", place.uid, act), {"uid": uid_in(form)} | more).status_code == 302
            )
        refused = caretaker.post(at(cast, "hatch-act", a.uid, "openings"), {"uid": str(uuid4())})
    assert refused.status_code == 422
    assert "There is a lot in this hatch" in refused.content.decode()


def test_a_drum_goes_out_of_use_with_an_answer_for_each_lot(cast: Cast, closed: Batch) -> None:
    caretaker, address = as_(cast.caretaker), at(cast, "drum-care", cast.drum.uid)
    with inside(cast.building.uid) as here:
        younger = batch_in(here, cast, "B")
    go_outside()
    sent = {"uid": str(uuid4()), "state": "out_of_service", "households": "none", f"to-{closed.uid}": "stays"}
    refused = caretaker.post(address, sent)
    assert refused.status_code == 422
    assert "Where does this lot go?" in refused.content.decode()
    assert caretaker.post(address, sent | {f"to-{younger.uid}": "stays"}).status_code == 302
    assert "Drum 1 is out of use." in words(caretaker.get(address))


def test_a_wrong_hatch_is_told_on_the_form_and_stands_on_the_list_without_a_name(cast: Cast, closed: Batch) -> None:
    resident = as_(cast.resident)
    form = resident.get(at(cast, "drop-off-form")).content.decode()
    assert str(closed.place.uid) in form
    sent = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": "4", "place": str(closed.place.uid)}
    assert resident.post(at(cast, "drop-off-form"), sent).status_code == 302
    for name, args in (("today", ()), ("batch", (closed.uid,))):
        said = words(as_(cast.caretaker).get(at(cast, name, *args)))
        assert "Wrong hatch" in said
        assert "Imani" not in said
        assert "Flat 3" not in said


def air_of(cast: Cast) -> Climate:
    with inside(cast.building.uid) as here:
        found = climate(Site.objects.within(here).select_related("rules").get(pk=cast.drum.site_id))
    go_outside()
    return found


def test_the_usual_air_of_a_place_is_told_by_month_and_the_forecast_goes_by_it(cast: Cast) -> None:
    # A yard in the south: warmest in January. Means are invented.
    means = (23, 23, 21, 18, 14, 11, 10, 12, 14, 17, 19, 22)
    sent = {f"air_{month}": f"{mean},5" for month, mean in enumerate(means, 1)}
    caretaker, address = as_(cast.caretaker), at(cast, "site-rules", cast.drum.site.uid)
    assert air_of(cast).monthly_c[0] == 1.0  # a temperate town, where nobody said anything
    assert caretaker.post(address, sent).status_code == 302
    assert air_of(cast).monthly_c == tuple(mean + 0.5 for mean in means)
    assert 'value="10.5"' in caretaker.get(address).content.decode()
    refused = caretaker.post(address, sent | {"air_7": "", "air_8": "cold"})
    assert refused.status_code == 422
    assert "Twelve months are needed, or none." in words(refused)
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).select_related("rules").get(pk=cast.drum.site_id)
        assert settings_of(site, dt.date(2027, 7, 11)).winter is False
        assert settings_of(site, dt.date(2027, 7, 11)).air_c_by_month[6] == Decimal("10.5")
    go_outside()
    assert caretaker.post(address, {}).status_code == 302
    assert air_of(cast).monthly_c[0] == 1.0


def test_a_room_has_one_temperature_and_programs_tell_a_list(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Site.objects.within(here).filter(pk=cast.drum.site_id).update(air=Site.Air.INDOORS)
        token = give_token(here, cast.caretaker)
    go_outside()
    assert as_(cast.caretaker).post(at(cast, "site-rules", cast.drum.site.uid), {"room": "22"}).status_code == 302
    assert air_of(cast).indoor_c == 22.0
    api, key = reverse("api-site-rules", args=[cast.building.uid, cast.drum.site.uid]), f"Bearer {token}"
    client = Client(headers={"authorization": key})
    assert client.get(api).json()["air_c"] == [22.0] * 12
    told = client.post(api, {"air_c": [15.5] * 12}, content_type="application/json")
    assert told.json()["air_c"] == [15.5] * 12
    for wrong in ([15] * 11, [15] * 11 + ["x"], [90] * 12):
        assert client.post(api, {"air_c": wrong}, content_type="application/json").status_code == 422
    assert client.post(api, {"air_c": None}, content_type="application/json").json()["air_c"] is None


def test_numbers_of_the_rules_are_kept_and_winter_shows_the_room_left(cast: Cast) -> None:
    caretaker, site = as_(cast.caretaker), cast.drum.site
    sent = {"winter_first": "11-15", "spring_first": "04-01", "turn_open_days": "5"}
    assert caretaker.post(at(cast, "site-rules", site.uid), sent).status_code == 302
    assert caretaker.post(at(cast, "site-rules", site.uid), sent | {"spring_first": "4 April"}).status_code == 422
    with time_machine.travel("2027-01-11T09:00Z", tick=False):
        for person, name, args in (
            (cast.caretaker, "today", ()), (cast.resident, "building", ()), (cast.resident, "hatch", (cast.drum.uid,)),
        ):  # fmt: skip
            assert "There is room for 15 more pails until April 1." in words(as_(person).get(at(cast, name, *args)))


def test_the_list_takes_the_same_queries_for_three_drums_as_for_one(cast: Cast) -> None:
    caretaker = as_(cast.caretaker)
    with time_machine.travel(NOW + 4 * DAY, tick=False):
        caretaker.get(at(cast, "today"))
        with CaptureQueriesContext(connection) as few:
            caretaker.get(at(cast, "today"))
        with inside(cast.building.uid) as here:
            for number in (2, 3):
                drum = Drum.objects.create(building=here, site=cast.drum.site, number=number)
                for letter, shape in (("A", "circle"), ("B", "square")):
                    Place.objects.create(
                        building=here, kind="chamber", site=drum.site, drum=drum, letter=letter, shape=shape, litres=100
                    )
                hang_tag(cast, here, Place.objects.within(here).get(drum=drum, letter="A"))
            pail(cast, here, place=hatch(here, cast, "B").uid)
        go_outside()
        with CaptureQueriesContext(connection) as many:
            caretaker.get(at(cast, "today"))
    assert len(few) == len(many)


def test_the_page_of_a_lot_tells_what_is_on_record_of_its_heat(cast: Cast, closed: Batch) -> None:
    page = at(cast, "batch", closed.uid)
    assert "on record" not in words(as_(cast.caretaker).get(page))
    with inside(cast.building.uid) as here:
        for hours, celsius in ((0, "55"), (24, "56.5")):
            told = {"batch": str(closed.uid), "temperature": celsius}
            visit(cast, here, NOW + DAY + dt.timedelta(hours=hours), readings=[told])
    go_outside()
    said = words(as_(cast.caretaker).get(page))
    assert "The hottest on record is 56.5 °C. The longest time on record at 55.0 °C or more is 24 hours." in said
    assert "The rim is cooler than the middle" in said


def test_the_page_of_a_lot_takes_the_same_queries_however_long_its_history(cast: Cast, closed: Batch) -> None:
    caretaker = as_(cast.caretaker)
    caretaker.get(at(cast, "batch", closed.uid))
    with CaptureQueriesContext(connection) as few:
        caretaker.get(at(cast, "batch", closed.uid))
    with inside(cast.building.uid) as here:
        for hours in range(6):
            visit(
                cast, here, NOW + dt.timedelta(hours=hours), readings=[{"batch": str(closed.uid), "squeeze": "right"}]
            )
            pail(cast, here, NOW + DAY, place=closed.place.uid)
    go_outside()
    with CaptureQueriesContext(connection) as many:
        caretaker.get(at(cast, "batch", closed.uid))
    assert len(few) == len(many)


# API ------------------------------------------------------------------------------------------------


@pytest.fixture
def api(cast: Cast, closed: Batch) -> Any:
    with inside(cast.building.uid) as here:
        tokens = {name: give_token(here, person) for name, person in cast.people.items()}
    go_outside()
    client = Client()

    def call(method: str, path: str, body: Any = None, who: str = "caretaker") -> Any:
        return getattr(client, method)(
            f"/api/buildings/{cast.building.uid}/{path}", data=body, content_type="application/json",
            headers={"Authorization": f"Bearer {tokens[who]}"},
        )  # fmt: skip

    return call


def test_lots_with_their_history_are_read_and_changed_over_the_api(cast: Cast, closed: Batch, api: Any) -> None:
    assert [one["stage"] for one in api("get", "batches/").json()] == ["composting", "filling"]
    visited = {
        "uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": True, "level": "half", "air": 18,
        "readings": [{"batch": str(closed.uid), "temperature": 21.5, "squeeze": "right", "smell": "no"}],
    }  # fmt: skip
    answer = api("post", "visits/", visited)
    assert answer.status_code == 201
    assert {(one["kind"], one["value"]) for one in answer.json()["readings"]} == {
        ("level_percent", 50), ("drum_tenths_c", 215), ("air_tenths_c", 180), ("squeeze", 1), ("smell_bad", 0),
    }  # fmt: skip
    test = str(uuid4())
    assert api("post", f"batches/{closed.uid}/tests/", {"uid": test, "kind": "seeds"}).status_code == 200
    read = {"uid": str(uuid4()), "kind": "seeds", "sown": 4, "sprouted": 3}
    assert api("post", f"tests/{test}/results/", read).status_code == 200
    move = {"uid": str(uuid4()), "to": "new", "litres": 200}
    assert [api("post", f"batches/{closed.uid}/moves/", move).status_code for _ in range(2)] == [200, 200]
    whole = api("get", f"batches/{closed.uid}/", who="committee").json()
    assert whole["tests"] == [
        {"uid": test, "kind": "seeds", "begun_at": whole["tests"][0]["begun_at"], "is_read": True, "passed": True}
    ]
    assert "curing bin C" in " ".join(one["what"] for one in whole["history"])
    with inside(cast.building.uid):
        assert fresh(closed).place.letter == "C"


def test_the_api_says_what_is_wrong_and_a_uid_with_other_values_is_refused(closed: Batch, api: Any) -> None:
    answer = api("post", f"batches/{closed.uid}/discards/", {"uid": str(uuid4())})
    assert answer.status_code == 422
    assert {one["field"] for one in answer.json()["errors"]} == {"reason", "litres", "destination"}
    move = {"uid": str(uuid4()), "to": "new", "litres": 200}
    api("post", f"batches/{closed.uid}/moves/", move)
    assert api("post", f"batches/{closed.uid}/moves/", move | {"litres": 100}).json()["type"].endswith("uid-reused/")
    assert api("post", f"batches/{closed.uid}/moves/", {"uid": str(uuid4()), "to": str(uuid4())}).status_code == 404


@pytest.mark.parametrize("who", ["resident", "committee", "checker"])
def test_nobody_but_the_caretaker_changes_a_lot(closed: Batch, api: Any, who: str) -> None:
    assert (
        api("post", f"batches/{closed.uid}/steps-back/", {"uid": str(uuid4()), "reason": "x"}, who).status_code == 404
    )


def test_a_resident_adds_turns_and_a_wrong_hatch_over_the_api(cast: Cast, closed: Batch, api: Any) -> None:
    turned = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "level": "full", "trouble": "smell"}
    answer = api("post", "turnings/", turned, "resident")
    assert (answer.status_code, answer.json()["turned"]) == (201, True)
    assert "level_percent" not in answer.json()
    brought = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4, "place": str(closed.place.uid)}
    assert api("post", "drop-offs/", brought, "resident").json()["place"] == str(closed.place.uid)
    with inside(cast.building.uid) as here:
        assert Visit.objects.within(here).filter(trouble="smell").count() == 0
        assert Contribution.objects.within(here).get().batch == closed


def words_of_answer(response: Any) -> str:
    found = re.search(r"<h1>(.*?)</h1>", response.content.decode(), re.S)
    assert found
    return " ".join(re.sub(r"<[^>]+>", " ", found[1]).split())


def test_a_list_without_tasks_says_until_when(cast: Cast) -> None:
    with time_machine.travel(NOW, tick=False):
        page = as_(cast.caretaker).get(at(cast, "today")).content.decode()
    assert "Nothing is due until May 7." in page  # an open drum is turned every third day, from May 4 on
    assert "more thing" not in page


def test_the_answer_names_the_first_thing_and_says_how_many_wait_below(cast: Cast) -> None:
    with time_machine.travel(NOW, tick=False):
        for words in ("a smell", "a leak"):
            sent = {"uid": str(uuid4()), "kind": "smell", "drum": "", "words": words}
            Client().post(at(cast, "report"), sent)
    with time_machine.travel(NOW + 3 * DAY, tick=False):
        page = words_of_answer(as_(cast.caretaker).get(at(cast, "today")))
    assert page == "Place not named: a bad smell. 1 more thing waits below."  # late, so before the turn that is due


@pytest.mark.usefixtures("cast")
def test_of_several_drums_the_form_of_one_with_nothing_due_is_folded_and_needs_five_taps_at_most() -> None:
    house = found_house("Two Drums", "Anouk", "anouk@two-drums.invalid", drums=2)
    today = reverse("today", args=[house.building.uid])
    first = house.drums[0]
    with time_machine.travel(NOW + 4 * DAY, tick=False):
        caretaker = as_(house.person)
        turned = {"uid": str(uuid4()), "drum": str(first.uid), "turned": "yes"}
        assert caretaker.post(today, turned).status_code == 302
        page = caretaker.get(today).content.decode()
        (folded,) = re.findall(r'<details class="visit">(.*?</form>)</details>', page, re.S)
        assert f'name="drum" value="{first.uid}"' in folded
        assert "It was turned today." in page
        # Open it, turned, the level, and the button.
        assert 1 + len(re.findall("<legend>", folded.split("Is anything wrong?")[0])) + 1 <= 5
        # Sent with a fault, it stands open with what is wrong.
        wrong = caretaker.post(today, turned | {"uid": str(uuid4()), "turned": ""}).content.decode()
        assert '<details class="visit">' not in wrong
