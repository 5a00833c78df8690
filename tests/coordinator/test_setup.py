"""The set-up as somebody meets it: question by question, left and taken up, ending with what the drums carry."""

import datetime as dt
import re
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bins.founding.arranging import STEPS, arrange_browns
from bins.founding.block import QUESTIONS
from bins.intake.dropoff import DropOff, record_drop_off
from bins.mixing.browns import BrownsTold
from bins.models import Batch, Drum, Place
from coordinator.questions import FIRST, TITLES
from coordinator.region import Region
from households.models import Account, Building, Permission, SetupDraft, SetupStep, Site
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of
from tests.filled import go_outside

pytestmark = [pytest.mark.embedded, pytest.mark.django_db]
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
DEFAULTS = re.compile(r'name="uid" value="([0-9a-f-]{36})"')


@pytest.fixture
def founder(db: None) -> Account:
    return Account.objects.create_user("ottilie.brandt@quince-court.invalid")


def client_of(account: Account, language: str = "en") -> Client:
    client = Client(headers={"accept-language": language})
    client.force_login(account, BACKEND)
    return client


def answer(client: Client, step: str, **values: str) -> Any:
    """Fill in a page as it comes, with some fields changed."""
    address = reverse("setup-step", args=[step])
    page = client.get(address).content.decode()
    return client.post(address, {"uid": uid_on(page), **values})


def uid_on(page: str) -> str:
    found = DEFAULTS.search(page)
    assert found, page
    return found[1]


SAID: dict[str, dict[str, str]] = {
    "block": {"name": "Quince Court", "time_zone": "Europe/Berlin", "units": "metric", "language": "en"},
    "people": {"person": "Ottilie", "household": "Flat 1"},
    "drums": {"site": "Courtyard", "drums": "1", "chamber": "500"},
    "contents": {},
    "pail": {},
    "full": {"fallback": "the brown bin by the gate"},
}


def found_one(client: Client) -> UUID:
    for step, values in SAID.items():
        reply = answer(client, step, **values)
        assert reply.status_code == 302, (step, reply.content.decode())
    uid = UUID(reply.headers["Location"].split("/")[2])
    assert reply.headers["Location"] == reverse("arrange", args=[uid])
    return uid


def test_there_are_at_most_fifteen_questions_and_six_before_the_first_pail() -> None:
    assert len(FIRST) == len(QUESTIONS) == 6
    assert len(FIRST) + len(STEPS) <= 15
    assert set(TITLES) == {*FIRST, *STEPS}


def test_six_answers_found_a_building_and_the_draft_is_gone(founder: Account) -> None:
    client = client_of(founder)
    uid = found_one(client)
    assert not SetupDraft.objects.exists()
    with inside(uid) as here:
        site = Site.objects.within(here).get()
        assert (here.name, site.name, site.fallback) == ("Quince Court", "Courtyard", "the brown bin by the gate")
        assert Batch.objects.within(here).get().stage == "filling"
    go_outside()
    page = client.get(reverse("arrange", args=[uid])).content.decode()
    assert "The block stands. The first pail can come." in page
    assert client.get(reverse("drop-off-form", args=[uid])).status_code == 200


def test_the_set_up_goes_on_where_it_was_left(founder: Account) -> None:
    client = client_of(founder)
    answer(client, "block", **SAID["block"])
    assert client.get(reverse("setup")).headers["Location"] == reverse("setup-step", args=["people"])
    later = client_of(founder)  # another day, another phone
    assert later.get(reverse("setup")).headers["Location"] == reverse("setup-step", args=["people"])
    assert "Quince Court" in later.get(reverse("setup-step", args=["block"])).content.decode()
    assert "Go on where you stopped" in later.get(reverse("home")).content.decode()


def test_a_question_ahead_of_one_without_an_answer_waits(founder: Account) -> None:
    reply = client_of(founder).get(reverse("setup-step", args=["full"]))
    assert reply.headers["Location"] == reverse("setup-step", args=["block"])


def test_each_of_the_six_is_answered_by_its_defaults_alone(founder: Account) -> None:
    client = client_of(founder, "de-DE,en;q=0.5")
    for step in FIRST:
        page = client.get(reverse("setup-step", args=[step])).content.decode()
        values = dict(re.findall(r'<input[^>]*name="([\w-]+)"[^>]*value="([^"]*)"(?![^>]*type="radio")', page))
        values |= dict(re.findall(r'type="radio" name="([\w-]+)" value="([^"]+)" checked', page))
        for name, options in re.findall(r'<select id="([\w-]+)".*?>(.*?)</select>', page, re.S):
            chosen = re.search(r'<option value="([^"]*)"[^>]* selected', options)
            values[name] = chosen[1] if chosen else ""
        reply = client.post(reverse("setup-step", args=[step]), values)
        assert reply.status_code == 302, (step, values, reply.content.decode())
    with inside(UUID(reply.headers["Location"].split("/")[2])) as here:
        assert (here.time_zone, here.units) == ("Europe/Berlin", "metric")
        assert here.second_language == ""
    go_outside()


def test_a_refused_answer_says_what_to_mend_and_keeps_what_was_typed(founder: Account) -> None:
    client = client_of(founder)
    reply = answer(client, "block", **SAID["block"] | {"name": " ", "second_language": "en"})
    page = reply.content.decode()
    assert reply.status_code == 422
    assert "What is the block called?" in page
    assert "That is the first language already." in page
    assert not SetupDraft.objects.exists()


def test_what_is_in_a_hatch_is_asked_for_each_drum_and_no_day_to_come_is_taken(founder: Account) -> None:
    client = client_of(founder)
    for step in ("block", "people"):
        answer(client, step, **SAID[step])
    answer(client, "drums", **SAID["drums"] | {"drums": "2"})
    page = client.get(reverse("setup-step", args=["contents"])).content.decode()
    assert page.count('type="date"') == 4
    with time_machine.travel(NOW, tick=False):
        late = {"found-2-B": "closed", "since-2-B": "2026-05-05"}
        assert answer(client, "contents", **late).status_code == 422
        assert answer(client, "contents", **late | {"since-2-B": "2026-05-04"}).status_code == 302


def test_the_second_person_is_another_one(founder: Account) -> None:
    client = client_of(founder)
    answer(client, "block", **SAID["block"])
    reply = answer(client, "people", person="Ottilie", second_name="Otti", second_email=founder.email)
    assert reply.status_code == 422
    assert "That is your own address." in reply.content.decode()


def test_a_form_sent_again_after_the_building_stands_founds_no_second_one(founder: Account) -> None:
    client = client_of(founder)
    uid = found_one(client)
    for step in ("block", "full"):
        reply = client.post(reverse("setup-step", args=[step]), {"uid": str(uid), **SAID[step]})
        assert reply.headers["Location"] == reverse("arrange", args=[uid])
    assert not SetupDraft.objects.exists()


def test_nobody_founds_under_the_uid_of_a_building_that_stands(founder: Account, cast: Cast) -> None:
    client = client_of(founder)
    address = reverse("setup-step", args=["block"])
    client.post(address, {"uid": str(cast.building.uid), **SAID["block"]})
    for step in FIRST[1:]:
        reply = answer(client, step, **SAID[step])
    assert reply.headers["Location"] == reverse("arrange", args=[cast.building.uid])
    assert client.get(reply.headers["Location"]).status_code == 404
    with inside(cast.building.uid) as here:
        assert here.name == "Quince Court"
        assert Drum.objects.within(here).count() == 1
    go_outside()


def test_a_sixth_block_waits_for_the_next_day_and_its_answers_with_it(founder: Account) -> None:
    client = client_of(founder)
    with time_machine.travel(NOW, tick=False):
        for _ in range(5):
            found_one(client)
        *before, (last, values) = SAID.items()
        for step, said in before:
            assert answer(client, step, **said).status_code == 302
        refused = answer(client, last, **values)
        assert refused.status_code == 422
        assert "come tomorrow" in refused.content.decode()
    with time_machine.travel(NOW + dt.timedelta(days=1, seconds=1), tick=False):
        assert answer(client, last, **values).status_code == 302


def test_what_nobody_can_see_is_not_kept_with_an_answer(founder: Account) -> None:
    client = client_of(founder)
    assert answer(client, "block", **SAID["block"] | {"name": "Quin\0ce \u202eCourt"}).status_code == 302
    assert SetupDraft.objects.get().answers["block"]["name"] == "Quince Court"


def test_gallons_are_asked_of_those_who_count_so(founder: Account) -> None:
    client = client_of(founder, "en-US")
    answer(client, "block", **SAID["block"] | {"units": "us"})
    answer(client, "people", **SAID["people"])
    page = client.get(reverse("setup-step", args=["drums"])).content.decode()
    assert "How many gallons does one half hold?" in page
    assert 'name="units" value="us"' in page
    assert 'value="26.4"' in page  # 100 L


@pytest.mark.parametrize(
    ("header", "zone", "units"),
    [
        ("de-DE,de;q=0.9", "Europe/Berlin", "metric"),
        ("en-US", "America/New_York", "us"),
        ("fr-CA,fr;q=0.9", "America/Toronto", "metric"),
        ("en,es-MX;q=0.5", "America/Mexico_City", "metric"),
        ("en-AU", "Australia/Sydney", "metric"),
        ("ar", "UTC", "metric"),
        ("zh-Hant", "UTC", "metric"),
        ("", "UTC", "metric"),
        ("x" * 9000, "UTC", "metric"),
    ],
)
def test_a_browsers_languages_guess_clock_and_units(header: str, zone: str, units: str) -> None:
    region = Region.of(header)
    assert (region.zone, region.units) == (zone, units)


# Once the building stands ----------------------------------------------------------------------------


def arrange(client: Client, building: Building, step: str, **values: str) -> Any:
    return client.post(reverse("arrange-step", args=[building.uid, step]), values)


def test_the_other_eight_are_answered_one_by_one_and_end_with_what_the_drums_carry(founder: Account) -> None:
    client = client_of(founder)
    uid = found_one(client)
    address = client.get(reverse("arrange", args=[uid])).content.decode()
    walked = []
    location = reverse("arrange-step", args=[uid, STEPS[0]])
    assert location in address
    while location != reverse("arrange", args=[uid]):
        walked.append(location.rstrip("/").rpartition("/")[2])
        assert client.get(location).status_code == 200
        reply = client.post(location, {})  # each has a default
        assert reply.status_code == 302, (location, reply.content.decode())
        location = reply.headers["Location"]
    assert walked == list(STEPS)
    page = client.get(location).content.decode()
    assert "These drums carry about 6 to 8 households." in page
    assert "With 6 households, a hatch is open every day." in page


def test_under_ninety_five_percent_it_says_so_plainly_and_names_a_way_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Place.objects.within(here).update(litres=500)
    go_outside()
    client = client_of(account_of(cast.caretaker))
    arrange(client, cast.building, "households", households="8")
    page = client.get(reverse("arrange", args=[cast.building.uid])).content.decode()
    assert "With 8 households, a hatch is open on only 92 days of 100." in page
    assert "With a curing bin it would be every day." in page


def test_answers_are_kept_and_shown_again(cast: Cast) -> None:
    client = client_of(account_of(cast.caretaker))
    arrange(client, cast.building, "access", access="The key hangs at the super's door.")
    arrange(client, cast.building, "opening", opening="slots")
    arrange(client, cast.building, "decides", decides="committee")
    arrange(client, cast.building, "sharing", sharing_kind="contribution", reserve_percent="30")
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
        assert (site.access, site.opening, site.decides) == ("The key hangs at the super's door.", "slots", "committee")
        assert (site.sharing_kind, site.reserve_percent) == ("contribution", 30)
        # The lot was opened before anybody was asked, and nobody has brought anything into it.
        assert Batch.objects.within(here).get().reserve_percent == 30
        assert set(SetupStep.objects.within(here).values_list("step", flat=True)) == {
            "access", "opening", "decides", "sharing",
        }  # fmt: skip
    go_outside()
    page = client.get(reverse("arrange-step", args=[cast.building.uid, "access"])).content.decode()
    assert "The key hangs at the super" in page


def test_a_lot_that_somebody_brought_to_keeps_its_rule(cast: Cast) -> None:
    bring(cast)
    arrange(client_of(account_of(cast.caretaker)), cast.building, "sharing", reserve_percent="30")
    with inside(cast.building.uid) as here:
        assert Batch.objects.within(here).get().reserve_percent == 20
    go_outside()


def bring(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4})
        record_drop_off(
            building=here, told=told, household=cast.resident.household, person=cast.resident, via="web", now=NOW
        )
    go_outside()


def test_a_block_that_runs_is_not_told_how_to_begin(cast: Cast) -> None:
    client, overview = client_of(account_of(cast.caretaker)), reverse("arrange", args=[cast.building.uid])
    assert "Before the first pail" in client.get(overview).content.decode()
    bring(cast)
    page = client.get(overview).content.decode()
    assert "Before the first pail" not in page
    assert "The block is set up. 8 questions go by their usual answers." in page


def test_the_kind_of_browns_sets_the_number_at_first_and_only_then(cast: Cast) -> None:
    bring(cast)  # before the question was answered: by the usual number
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()

        def tell(kind: str) -> int:
            told = BrownsTold.from_raw({"browns": kind, "cup_ml": 1000})
            return arrange_browns(
                building=here, site=site, told=told, person=cast.caretaker, now=NOW
            ).half_cups_per_pail

        first = tell("cardboard")
        SetupStep.objects.create(building=here, step="browns", answered_at=NOW)
        assert tell("pellets") == first, "it stands on the sign by now: the page of browns changes it, once a month"
        assert first != 4
    go_outside()


def test_a_yes_has_its_day_and_an_engineers_is_asked_for_on_a_roof(cast: Cast) -> None:
    client = client_of(account_of(cast.caretaker))
    page = client.get(reverse("arrange", args=[cast.building.uid])).content.decode()
    assert "the owner of the house; the insurer of the house." in page
    with time_machine.travel(NOW, tick=False):
        refused = arrange(client, cast.building, "permissions", **{"answer-owner": "yes"})
        assert "On which day was the yes given?" in refused.content.decode()
        late = {"answer-owner": "yes", "on-owner": "2026-05-05"}
        assert arrange(client, cast.building, "permissions", **late).status_code == 422
        told = {"raised": "yes", "answer-owner": "yes", "on-owner": "2026-05-04", "by-owner": "Mr Adler, by letter"}
        assert arrange(client, cast.building, "permissions", **told).status_code == 302
    with inside(cast.building.uid) as here:
        given = {one.of: (one.given_on, one.given_by) for one in Permission.objects.within(here)}
    go_outside()
    assert given == {
        "owner": (dt.date(2026, 5, 4), "Mr Adler, by letter"), "insurer": (None, ""), "engineer": (None, ""),
    }  # fmt: skip
    page = client.get(reverse("arrange", args=[cast.building.uid])).content.decode()
    assert "the insurer of the house; the owner or an engineer, for the weight." in page


def test_the_rule_of_sharing_is_the_committees(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        cast.caretaker.roles.filter(kind="committee").delete()
        assert Site.objects.within(here).exists()
    go_outside()
    client = client_of(account_of(cast.caretaker))
    assert arrange(client, cast.building, "sharing", reserve_percent="90").status_code == 404
    assert (
        reverse("arrange-step", args=[cast.building.uid, "sharing"])
        not in client.get(reverse("arrange", args=[cast.building.uid])).content.decode()
    )


def test_the_overview_asks_no_more_of_the_database_with_more_drums(cast: Cast) -> None:
    client = client_of(account_of(cast.caretaker))
    address = reverse("arrange", args=[cast.building.uid])
    client.get(address)
    with CaptureQueriesContext(connection) as one:
        client.get(address)
    with inside(cast.building.uid) as here:
        for number in (2, 3, 4):
            drum = Drum.objects.create(building=here, site=cast.drum.site, number=number)
            for letter, shape in (("A", "circle"), ("B", "square")):
                Place.objects.create(
                    building=here, kind="chamber", site=cast.drum.site, drum=drum, letter=letter, shape=shape,
                    litres=100,
                )  # fmt: skip
    go_outside()
    with CaptureQueriesContext(connection) as four:
        client.get(address)
    assert len(four) == len(one)


def test_the_api_gives_the_same_figures(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Place.objects.within(here).update(litres=500)
        Site.objects.within(here).update(households_expected=12)
    go_outside()
    reply = client_of(account_of(cast.caretaker)).get(reverse("api-capacity", args=[cast.building.uid]))
    (one,) = reply.json()
    assert (one["careful_households"], one["most_households"], one["base_layer_litres"]) == (6, 8, 17)
    assert one["open_days"] == [{"households": 12, "percent": 73, "percent_with_curing_bin": 92}]
