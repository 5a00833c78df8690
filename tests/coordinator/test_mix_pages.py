"""Browns, pails, the accepted list and wrong items as people and programs meet them."""

import datetime as dt
import json
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.template.loader import get_template
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bins.intake.accepting import DEFAULT
from bins.intake.dropoff import DropOff, record_drop_off
from bins.mixing.weighing import Weighing, weigh_pail
from bins.models import AcceptedList, Amendment, Batch, Bucket, Contribution, Pail, PailWeighing, Visit, WrongItem
from coordinator.items import ITEMS
from coordinator.pages.dropoff import cup_choices
from households.models import Site
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of

pytestmark = pytest.mark.embedded
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


@pytest.fixture(autouse=True)
def _in_may() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def as_(cast: Cast, who: str) -> Client:
    client = Client()
    if who:
        client.force_login(account_of(cast.people[who]), BACKEND)
    return client


def address(name: str, cast: Cast, *more: object) -> str:
    return reverse(name, args=[cast.building.uid, *more])


def send(client: Client, path: str, **values: object) -> Any:
    return client.post(path, {"uid": str(uuid4())} | values)


def send_json(client: Client, path: str, **values: object) -> Any:
    return client.post(path, json.dumps({"uid": str(uuid4())} | values), content_type="application/json")


def site_of(cast: Cast) -> Site:
    with inside(cast.building.uid) as here:
        site: Site = Site.objects.within(here).get()
    return site


def bring(cast: Cast, quarters: int = 12) -> Batch:
    with inside(cast.building.uid) as here:
        told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": quarters})
        row = record_drop_off(
            building=here, told=told, household=cast.resident.household, person=cast.resident, via="web", now=NOW
        ).row
        batch: Batch = row.batch
    return batch


def weigh_ten(cast: Cast) -> Pail:
    with inside(cast.building.uid) as here:
        pail: Pail = Pail.objects.within(here).get()
        for _ in range(10):
            told = Weighing.from_raw({"uid": str(uuid4()), "pail": str(pail.uid), "net_kg": 4})
            weigh_pail(building=here, told=told, person=None, via="web", now=NOW)
    return pail


# Browns ---------------------------------------------------------------------------------------------


def test_the_caretakers_yes_changes_the_number_on_every_page(cast: Cast) -> None:
    caretaker, site = as_(cast, "caretaker"), site_of(cast)
    page = caretaker.get(address("browns", cast))
    assert "Change the number to 3 cups" in page.content.decode()
    assert caretaker.post(address("browns-number", cast, site.uid), {"half_cups": "6"}).status_code == 302
    for who, path in (
        ("", address("hatch", cast, cast.drum.uid)),
        ("caretaker", address("sign", cast, cast.drum.uid)),
        ("resident", address("drop-off-form", cast)),
    ):
        assert "Three cups of browns for each full pail." in as_(cast, who).get(path).content.decode()


def test_a_second_change_within_the_month_is_refused_with_the_day(cast: Cast) -> None:
    caretaker, site = as_(cast, "caretaker"), site_of(cast)
    caretaker.post(address("browns-number", cast, site.uid), {"half_cups": "6"})
    send(caretaker, address("browns-tell", cast, site.uid), browns="pellets", cup_ml="500", without_browns="bring")
    refused = caretaker.post(address("browns-number", cast, site.uid), {"half_cups": "10"})
    assert refused.status_code == 422
    assert "June 4, 2026" in refused.content.decode()
    assert site_of(cast).half_cups_per_pail == 6


def test_the_committee_reads_the_page_and_changes_nothing(cast: Cast) -> None:
    committee, site = as_(cast, "committee"), site_of(cast)
    page = committee.get(address("browns", cast)).content.decode()
    assert "What we advise" in page
    assert "<form" not in page.split("<main")[1]
    for name in ("browns-tell", "browns-number", "browns-stock"):
        assert committee.post(address(name, cast, site.uid)).status_code == 404


@pytest.mark.parametrize(
    ("choice", "words"), [("bring", "Bring your scraps all the same"), ("wait", "Please wait with your scraps")]
)
def test_while_there_are_no_browns_residents_read_the_sites_choice(cast: Cast, choice: str, words: str) -> None:
    caretaker, site = as_(cast, "caretaker"), site_of(cast)
    send(caretaker, address("browns-tell", cast, site.uid), browns="pellets", cup_ml="1000", without_browns=choice)
    caretaker.post(address("browns-stock", cast, site.uid), {"out": "yes"})
    for who, path in (("", address("hatch", cast, cast.drum.uid)), ("resident", address("building", cast))):
        assert words in as_(cast, who).get(path).content.decode()
    caretaker.post(address("browns-stock", cast, site.uid), {"out": "no"})
    assert words not in Client().get(address("hatch", cast, cast.drum.uid)).content.decode()


def test_half_a_cup_can_be_asked_for_and_logged(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(half_cups_per_pail=3)
    resident = as_(cast, "resident")
    form = resident.get(address("drop-off-form", cast)).content.decode()
    assert "One and a half cups of browns for each full pail." in form
    assert 'value="1.5" checked' in form
    done = send(resident, address("drop-off-form", cast), drum=cast.drum.uid, quarter_pails="4", browns_cups="1.5")
    assert "1½ cups" in resident.get(done.headers["Location"]).content.decode()
    with inside(cast.building.uid) as here:
        row = Contribution.objects.within(here).get()
    assert (row.browns_half_cups, row.browns_ml) == (3, 1500)


def test_the_api_tells_the_advice_and_takes_the_yes(cast: Cast) -> None:
    caretaker, site = as_(cast, "caretaker"), site_of(cast)
    (told,) = caretaker.get(address("api-browns", cast)).json()
    assert (told["half_cups_per_pail"], told["advised_half_cups"], told["preferred"]) == (4, 6, True)
    answer = send_json(caretaker, address("api-browns-number", cast, site.uid), half_cups=6)
    assert (answer.status_code, answer.json()["half_cups_per_pail"]) == (200, 6)
    assert answer.json()["changes_from"] == "2026-06-04"
    refused = send_json(caretaker, address("api-browns-number", cast, site.uid))
    assert (refused.status_code, refused.json()["errors"][0]["field"]) == (422, "half_cups")
    answer = send_json(caretaker, address("api-site-browns", cast, site.uid), browns="leaves", cup_ml=1000)
    assert (answer.json()["advised_half_cups"], answer.json()["would_do"][0]) == (None, "pellets")
    assert send_json(caretaker, address("api-browns-stock", cast, site.uid), out=True).json()["browns_out_since"]
    assert Client().get(address("api-drums", cast)).json()[0]["browns_out_since"]


# The batch's correction -----------------------------------------------------------------------------


def test_the_list_asks_for_browns_until_they_are_written_down(cast: Cast) -> None:
    batch, caretaker = bring(cast), as_(cast, "caretaker")
    task = "Add 7 L of wood pellets to drum 1, hatch A, and turn it."
    assert task in caretaker.get(address("today", cast)).content.decode()
    path = address("amend", cast, batch.uid)
    assert send(caretaker, path, browns="pellets", browns_litres="7").status_code == 302
    assert task not in caretaker.get(address("today", cast)).content.decode()
    with inside(cast.building.uid) as here:
        row = Amendment.objects.within(here).get()
    assert (row.material, row.millilitres, row.attribution.person) == ("pellets", 7000, cast.caretaker)


def test_a_refused_amount_keeps_what_was_filled_in(cast: Cast) -> None:
    batch = bring(cast)
    answer = send(as_(cast, "caretaker"), address("amend", cast, batch.uid), browns="straw", browns_litres="many")
    page = answer.content.decode()
    assert (answer.status_code, 'value="many"' in page, 'value="straw" checked' in page) == (422, True, True)


def test_the_api_tells_what_is_lacking_and_takes_what_was_added(cast: Cast) -> None:
    batch, caretaker = bring(cast), as_(cast, "caretaker")
    (told,) = caretaker.get(address("api-corrections", cast)).json()
    assert (told["hatch"], told["browns"], told["browns_litres"], told["goal"]) == ("A", "pellets", 7, None)
    raw = {"uid": str(uuid4()), "batch": str(batch.uid), "browns": "pellets", "browns_litres": 7}
    first, again = (send_json(caretaker, address("api-amendments", cast), **raw) for _ in range(2))
    assert (first.status_code, again.status_code, first.json()) == (201, 200, again.json())
    assert caretaker.get(address("api-corrections", cast)).json() == []
    foreign = send_json(
        caretaker, address("api-amendments", cast), **raw | {"uid": str(uuid4()), "batch": str(uuid4())}
    )
    assert foreign.status_code == 422


# Pails ----------------------------------------------------------------------------------------------


def test_a_pail_is_weighed_ten_times_and_the_new_figure_accepted(cast: Cast) -> None:
    caretaker, pail = as_(cast, "caretaker"), weigh_ten(cast)
    assert "Ten full pails are weighed." in caretaker.get(address("today", cast)).content.decode()
    assert 'value="500"' in caretaker.get(address("pails", cast)).content.decode()
    assert caretaker.post(address("pail-accept", cast, pail.uid), {"g_per_l": "500"}).status_code == 302
    with inside(cast.building.uid) as here:
        assert Pail.objects.within(here).get().scraps_g_per_l == 500


def test_pails_are_measured_added_and_weighed_on_the_page(cast: Cast) -> None:
    caretaker, site = as_(cast, "caretaker"), site_of(cast)
    with inside(cast.building.uid) as here:
        pail = Pail.objects.within(here).get()
    send(caretaker, address("pail-measure", cast, pail.uid), name="bucket", empty_kg="0,2", water_kg="10,5")
    send(caretaker, address("pail-weigh", cast, pail.uid), full_kg="7,8", empty_kg="0,2")
    send(caretaker, address("pails", cast), site=site.uid, name="small pail", cups="5")
    with inside(cast.building.uid) as here:
        assert list(Pail.objects.within(here).order_by("number").values_list("name", "millilitres")) == [
            ("bucket", 10_300),
            ("small pail", 5000),
        ]
        assert PailWeighing.objects.within(here).get().net_g == 7600
    assert "small pail" in as_(cast, "resident").get(address("drop-off-form", cast)).content.decode()
    refused = send(caretaker, address("pail-weigh", cast, pail.uid), full_kg="0.5", empty_kg="0.7")
    assert (refused.status_code, "must weigh more" in refused.content.decode()) == (422, True)


def test_the_api_weighs_measures_and_accepts(cast: Cast) -> None:
    caretaker, pail, site = as_(cast, "caretaker"), weigh_ten(cast), site_of(cast)
    (told,) = caretaker.get(address("api-pails", cast)).json()
    assert (told["weighed"], told["proposed_g_per_l"], told["is_due"]) == (10, 500, False)
    accepted = send_json(caretaker, address("api-pail-accept", cast, pail.uid), g_per_l=500)
    assert (accepted.status_code, accepted.json()["scraps_g_per_l"]) == (200, 500)
    assert send_json(caretaker, address("api-weighings", cast), pail=str(pail.uid), net_kg=4).status_code == 201
    added = send_json(caretaker, address("api-pails", cast), site=str(site.uid), name="small", litres=5)
    assert (added.status_code, added.json()["number"]) == (200, 2)
    measured = send_json(caretaker, address("api-pail-measure", cast, pail.uid), name="pail", cups=9)
    assert measured.json()["millilitres"] == 9000
    drop_off = send_json(
        as_(cast, "resident"), address("api-drop-offs", cast), drum=str(cast.drum.uid), quarter_pails=4,
        pail=added.json()["uid"], browns_cups=0.5,
    )  # fmt: skip
    assert (drop_off.status_code, drop_off.json()["scraps_ml"], drop_off.json()["browns_ml"]) == (201, 5000, 500)
    assert (drop_off.json()["pail"], drop_off.json()["browns_cups"]) == (added.json()["uid"], 0.5)


# The accepted list ----------------------------------------------------------------------------------


def test_everybody_reads_the_list_with_reasons_and_the_sign_shows_it(cast: Cast) -> None:
    page = Client().get(address("accepted", cast, cast.drum.uid)).content.decode()
    for words in ("even those sold as compostable", "It smells and calls rats.", "Not sure about something?"):
        assert words in page
    assert page.count('<svg class="item"') == len(DEFAULT)
    hatch = Client().get(address("hatch", cast, cast.drum.uid)).content.decode()
    assert address("accepted", cast, cast.drum.uid) in hatch
    sign = as_(cast, "caretaker").get(address("sign", cast, cast.drum.uid) + "?second=fr").content.decode()
    assert sign.count('<svg class="item"') == sum(verdict != "ask" for verdict in DEFAULT.values())
    assert '<span lang="en" dir="ltr">coffee grounds</span><span lang="fr"' in sign


def test_every_thing_has_words_and_a_drawing_of_our_own() -> None:
    assert set(ITEMS) == set(DEFAULT)
    for key in DEFAULT:
        drawing = get_template(f"drawing/items/{key}.svg").render()
        assert "<path" in drawing or "<circle" in drawing
        assert "<text" not in drawing
        assert "href" not in drawing


def test_a_changed_list_gets_its_date_and_the_old_one_stays(cast: Cast) -> None:
    caretaker, site = as_(cast, "caretaker"), site_of(cast)
    path = address("accepted-edit", cast, site.uid)
    missing = send(caretaker, path, **{"verdict-egg_boxes": "no"})
    assert (missing.status_code, "Say why in a few words" in missing.content.decode()) == (422, True)
    changed = {"verdict-egg_boxes": "no", "note-egg_boxes": "Ours go to the school."}
    with time_machine.travel(NOW + dt.timedelta(days=2)):
        caretaker = as_(cast, "caretaker")
        assert send(caretaker, path, **changed).status_code == 302
        page = Client().get(address("accepted", cast, cast.drum.uid)).content.decode()
        old = Client().get(address("accepted-version", cast, cast.drum.uid, 1)).content.decode()
    assert "Ours go to the school." in page
    assert "List 2, from May 6, 2026: shown here" in page
    assert "This is an old list" in old
    assert "Ours go to the school." not in old
    assert Client().get(address("accepted-version", cast, cast.drum.uid, 3)).status_code == 404


def test_the_api_reads_and_changes_the_list(cast: Cast) -> None:
    site = site_of(cast)
    path = address("api-accepted", cast, site.uid)
    told = Client().get(path).json()
    assert (told["version"], told["dated"], len(told["items"])) == (1, "2026-05-04", len(DEFAULT))
    item = {"key": "citrus", "verdict": "no", "note": "They turn it sour."}
    changed = send_json(as_(cast, "caretaker"), path, items=[item])
    assert (changed.status_code, changed.json()["version"], item in changed.json()["items"]) == (200, 2, True)
    assert Client().get(path + "?version=1").json()["version"] == 1
    assert Client().get(path + "?version=9").status_code == 404
    assert send_json(as_(cast, "caretaker"), path, items="all").status_code == 422
    assert send_json(as_(cast, "resident"), path, items=[item]).status_code == 404


def test_the_list_costs_the_same_queries_however_many_versions_there_are(cast: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            Client().get(address("accepted", cast, cast.drum.uid))
        return len(caught)

    one = queries()
    for number in range(3):
        send(as_(cast, "caretaker"), address("accepted-edit", cast, site_of(cast).uid), **{"note-ash": str(number)})
    with inside(cast.building.uid) as here:
        assert AcceptedList.objects.within(here).count() == 4
    assert queries() == one


# Wrong items ----------------------------------------------------------------------------------------


def test_a_wrong_item_is_told_with_the_visit_and_stands_with_it(cast: Cast) -> None:
    answer = send(
        as_(cast, "caretaker"), address("today", cast), drum=cast.drum.uid, turned="yes", wrong_item="bags",
        wrong_hatch="A", wrong_millilitres="750", wrong_taken_out="yes",
    )  # fmt: skip
    assert answer.status_code == 302
    with inside(cast.building.uid) as here:
        row = WrongItem.objects.within(here).get()
        assert row.visit == Visit.objects.within(here).get()
    assert (row.item, row.millilitres, row.taken_out) == ("bags", 750, True)


def test_a_fault_in_it_keeps_the_visit_back_too(cast: Cast) -> None:
    answer = send(
        as_(cast, "caretaker"), address("today", cast), drum=cast.drum.uid, turned="yes", wrong_item="bags",
        wrong_millilitres="some",
    )  # fmt: skip
    assert (answer.status_code, 'value="some"' in answer.content.decode()) == (422, True)
    with inside(cast.building.uid) as here:
        assert not Visit.objects.within(here).exists()


def test_a_dangerous_one_shuts_the_hatch_on_every_page(cast: Cast) -> None:
    caretaker = as_(cast, "caretaker")
    page = caretaker.get(address("wrong-item", cast, cast.drum.uid)).content.decode()
    assert "Never by hand." in page
    done = send(caretaker, address("wrong-item", cast, cast.drum.uid), item="glass", hatch="A")
    assert "Never reach in by hand." in caretaker.get(done.headers["Location"]).content.decode()
    assert "Nothing is open at drum 1 now." in Client().get(address("hatch", cast, cast.drum.uid)).content.decode()


def test_the_api_takes_a_wrong_item_once_and_says_whether_it_shut(cast: Cast) -> None:
    caretaker, raw = as_(cast, "caretaker"), {"uid": str(uuid4()), "drum": str(cast.drum.uid), "item": "battery"}
    first, again = (send_json(caretaker, address("api-wrong-items", cast), **raw) for _ in range(2))
    assert (first.status_code, again.status_code, first.json()) == (201, 200, again.json())
    assert (first.json()["shut"], first.json()["hatch"]) == (True, "A")
    assert send_json(as_(cast, "resident"), address("api-wrong-items", cast), **raw).status_code == 404


def test_the_cups_to_choose_from_follow_the_sign_and_keep_what_was_sent() -> None:
    # Half a pail, one, one and a half, two, three: with two cups for a pail 1, 2, 3, 4, 6; in half cups.
    assert cup_choices(4, "2") == [0, 2, 4, 6, 8, 12]
    assert cup_choices(1, "0.5") == [0, 1, 2, 3]
    assert cup_choices(0, "0") == [0, 1, 2, 3, 4, 6], "no browns on the sign: as if it were one cup"
    assert cup_choices(4, "5") == [0, 2, 4, 6, 8, 10, 12], "sent before, and kept"
    for odd in ("many", "", "1e9", "-2", "9999999"):
        assert cup_choices(4, odd) == [0, 2, 4, 6, 8, 12]


def test_new_pails_are_not_called_weighed(cast: Cast) -> None:
    page = as_(cast, "caretaker").get(address("pails", cast)).content.decode()
    assert "A full pail counts by a usual figure until ten are weighed." in page
    assert "Nothing is due." not in page


def test_holding_buckets_are_shown_at_home_once_there_is_one(cast: Cast) -> None:
    home, buckets = address("building", cast), address("buckets", cast)
    assert buckets not in as_(cast, "resident").get(home).content.decode()
    assert buckets in as_(cast, "caretaker").get(home).content.decode(), "who may set one up"
    send(
        as_(cast, "caretaker"),
        buckets,
        name="cellar",
        drum=cast.drum.uid,
        litres="40",
        bedding="pellets",
        bedding_litres="10",
    )
    assert buckets in as_(cast, "resident").get(home).content.decode()


# Holding buckets ------------------------------------------------------------------------------------


def test_a_bucket_is_kept_filled_and_emptied_and_counts_for_its_household(cast: Cast) -> None:
    caretaker, resident = as_(cast, "caretaker"), as_(cast, "resident")
    send(
        caretaker, address("buckets", cast), name="cellar", drum=cast.drum.uid, litres="40", bedding="pellets",
        bedding_litres="10",
    )  # fmt: skip
    with inside(cast.building.uid) as here:
        bucket = Bucket.objects.within(here).get()
    assert send(resident, address("bucket-fill", cast, bucket.uid), quarter_pails="8").status_code == 302
    page = resident.get(address("buckets", cast)).content.decode()
    assert "The fullest bucket is cellar: about 65 % full." in page  # 16 L of scraps on 10 L of bedding in 40 L
    assert send(caretaker, address("bucket-pour", cast, bucket.uid)).status_code == 302
    with inside(cast.building.uid) as here:
        row = Contribution.objects.within(here).get()
    assert (row.scraps_g, row.attribution.household) == (7200, cast.resident.household)
    assert "about 25 % full" in resident.get(address("buckets", cast)).content.decode()


def test_nobody_sees_into_another_households_bucket(cast: Cast) -> None:
    caretaker = as_(cast, "caretaker")
    raw = {"name": "own", "drum": str(cast.drum.uid), "household": "Flat 3", "litres": 20, "bedding_litres": 5}
    own = send_json(caretaker, address("api-buckets", cast), **raw).json()["uid"]
    resident = as_(cast, "resident")
    filled = send_json(resident, address("api-bucket-fill", cast, own), quarter_pails=4)
    assert (filled.status_code, filled.json()["scraps_g"], filled.json()["shared"]) == (201, 3600, False)
    for client in (caretaker, Client()):
        assert "own" not in client.get(address("buckets", cast)).content.decode().split("<main")[-1].split("<form")[0]
        assert client.get(address("api-buckets", cast)).json() != [filled.json()]
    assert send_json(caretaker, address("api-bucket-pour", cast, own)).status_code == 404
    poured = send_json(resident, address("api-bucket-pour", cast, own))
    assert (poured.status_code, poured.json()["drop_offs"]) == (201, 0)
