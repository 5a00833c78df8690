"""What a drum or a curing bin is made of, on the drum's page and over the API."""

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bins.models import Place
from coordinator.packing import whole
from households.models import Audit
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in
from tests.bins.care.test_making import a_bin, make
from tests.cast import NOW, Cast
from tests.coordinator.test_care_pages import as_, at, uid_in, words
from tests.coordinator.test_forecast_pages import foretold
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded


def forms(page: str) -> list[str]:
    return [form for form in re.findall(r"<form.*?</form>", page, re.S) if 'name="insulation"' in form]


def on(form: str) -> set[str]:
    """What is marked in a form."""
    return {f"{name} {value}" for name, value in re.findall(r'name="(\w+)" value="(\w+)" required checked', form)}


def makes(cast: Cast) -> list[tuple[str, str, str]]:
    with inside(cast.building.uid) as here:
        rows = Place.objects.within(here).order_by("letter")
        found = [(row.letter, row.insulation, row.vents) for row in rows]
    go_outside()
    return found


def test_the_drums_page_asks_with_the_defaults_marked_and_keeps_what_is_told(cast: Cast) -> None:
    caretaker, address = as_(cast.caretaker), at(cast, "drum-care", cast.drum.uid)
    (form,) = forms(caretaker.get(address).content.decode())
    assert on(form) == {"insulation bare", "vents usual"}
    assert "Leave every vent open." in form, "the caution stands beside the question"
    sent = {"uid": uid_in(form), "insulation": "double", "vents": "few", "since": "now"}
    assert caretaker.post(address, sent).status_code == 302
    assert "The next night's forecast goes by it." in words(caretaker.get(address)).replace("&#x27;", "'")
    assert makes(cast) == [("A", "double", "few"), ("B", "double", "few")]
    (form,) = forms(caretaker.get(address).content.decode())
    assert on(form) == {"insulation double", "vents few"}


def test_a_lots_forecast_says_what_it_reckons_with_and_leads_whoever_may_change_it_there(cast: Cast) -> None:
    with time_machine.travel(NOW + 30 * DAY, tick=False):
        with inside(cast.building.uid) as here:
            batch = batch_in(here, cast, "A")
            foretold(here, batch, NOW.date() + 29 * DAY)
            make(cast, here, "foam", "many")
        go_outside()
        lot, drum = at(cast, "forecast-lot", batch.uid), at(cast, "drum-care", cast.drum.uid)
        page = as_(cast.caretaker).get(lot)
        assert "It stands in: foam, two fingers thick or more. Air comes in by: mesh all along." in words(page)
        assert f'href="{drum}#made"' in page.content.decode()
        assert f'href="{drum}#made"' not in as_(cast.committee).get(lot).content.decode()


def test_since_when_is_asked_and_what_was_marked_comes_back(cast: Cast) -> None:
    caretaker, address = as_(cast.caretaker), at(cast, "drum-care", cast.drum.uid)
    refused = caretaker.post(address, {"uid": str(uuid4()), "insulation": "foam", "vents": "few"})
    assert refused.status_code == 422
    (form,) = forms(refused.content.decode())
    assert on(form) == {"insulation foam", "vents few"}
    assert '<p class="error" id="since-error">' in form
    assert makes(cast) == [("A", "bare", "usual"), ("B", "bare", "usual")]


def test_a_curing_bin_has_its_own_questions_beside_those_of_the_drum(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        crate = a_bin(cast, here)
    go_outside()
    caretaker, address = as_(cast.caretaker), at(cast, "drum-care", cast.drum.uid)
    page = caretaker.get(address).content.decode()
    assert "What curing bin C, 200 L, is made of" in page
    drums_own, own = forms(page)
    sent = {"uid": uid_in(own), "bin": str(crate.uid), "insulation": "bare", "vents": "many"}
    drums_own, own = forms(caretaker.post(address, sent).content.decode())
    assert on(own) == {"insulation bare", "vents many"}
    assert on(drums_own) == {"insulation bare", "vents usual"}
    assert caretaker.post(address, sent | {"since": "always"}).status_code == 302
    assert makes(cast) == [("A", "bare", "usual"), ("B", "bare", "usual"), ("C", "bare", "many")]
    for unknown in (str(uuid4()), "C", str(cast.elsewhere_drum.uid)):
        assert caretaker.post(address, sent | {"since": "now", "bin": unknown}).status_code == 404


def test_the_page_asks_the_database_as_often_for_three_curing_bins_as_for_one(cast: Cast) -> None:
    caretaker, address = as_(cast.caretaker), at(cast, "drum-care", cast.drum.uid)
    counts = []
    for letters in ("C", "DE"):
        with inside(cast.building.uid) as here:
            for letter in letters:
                Place.objects.create(
                    building=here, kind="curing_bin", site=cast.drum.site, letter=letter, litres=100, vents="many"
                )
        go_outside()
        caretaker.get(address)
        with CaptureQueriesContext(connection) as asked:
            page = caretaker.get(address).content.decode()
        counts.append(len(asked))
        assert len(forms(page)) == 1 + ord(letters[-1]) - ord("B")
    assert counts[0] == counts[1]


@pytest.fixture
def api(cast: Cast) -> Callable[..., Any]:
    with inside(cast.building.uid) as here:
        secrets = {who: give_token(here, getattr(cast, who)) for who in ("caretaker", "committee", "resident")}
    go_outside()

    def ask(method: str, path: str, body: object = None, who: str = "caretaker") -> Any:
        client = Client(headers={"authorization": f"Bearer {secrets[who]}"})
        return getattr(client, method)(
            f"/api/buildings/{cast.building.uid}/{path}", body, content_type="application/json"
        )

    return ask


def test_the_api_tells_and_takes_it(cast: Cast, api: Any) -> None:
    path = f"drums/{cast.drum.uid}/make/"
    sent = {"uid": str(uuid4()), "insulation": "foam", "vents": "few", "since": "now"}
    assert [api("post", path, sent).status_code for _ in range(2)] == [200, 200]
    (drum,) = api("get", "drums/").json()
    assert (drum["insulation"], drum["vents"]) == ("foam", "few")
    with inside(cast.building.uid) as here:
        assert Audit.objects.within(here).filter(act="place-made").count() == 2  # one a half, once
        crate = a_bin(cast, here)
    go_outside()
    assert api("post", f"places/{crate.uid}/bin-make/", sent).status_code == 200
    assert makes(cast) == [("A", "foam", "few"), ("B", "foam", "few"), ("C", "foam", "few")]


def test_the_api_names_each_word_it_does_not_know(cast: Cast, api: Any) -> None:
    sent = {"uid": str(uuid4()), "insulation": "straw", "vents": "none", "since": "yesterday"}
    answer = api("post", f"drums/{cast.drum.uid}/make/", sent)
    assert answer.status_code == 422
    assert {one["field"] for one in answer.json()["errors"]} == {"insulation", "vents", "since"}
    assert makes(cast) == [("A", "bare", "usual"), ("B", "bare", "usual")]


@pytest.mark.parametrize("who", ["resident", "committee"])
def test_nobody_but_the_caretaker_says_what_it_is_made_of(cast: Cast, api: Any, who: str) -> None:
    sent = {"uid": str(uuid4()), "insulation": "foam", "vents": "few", "since": "now"}
    assert api("post", f"drums/{cast.drum.uid}/make/", sent, who).status_code == 404
    assert api("post", f"drums/{cast.elsewhere_drum.uid}/make/", sent).status_code == 404


def test_a_packed_building_takes_along_what_its_drums_are_and_were_made_of(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        make(cast, here, "foam", now=NOW + DAY)
        tables = {table.name: table for table in whole.resources(here)}
    names = [field["name"] for field in tables["bins-place"].fields]
    assert {row[names.index("insulation")] for row in tables["bins-place"].rows} == {"foam"}
    assert any("was_insulation" in str(row) for row in tables["households-audit"].rows)
