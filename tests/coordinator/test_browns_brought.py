"""A household tells that it brought browns, on the page and by API, and reads why it has a share."""

import html
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.mixing.bringing import Brought, bring_browns
from bins.models import BrownsStock
from households.models import Building, Site
from households.tenancy import inside
from tests.bins.harvests.harvested import OUT, bring, lot, share_out, take_out
from tests.cast import NOW, Cast
from tests.coordinator.test_harvest_api import Caller
from tests.coordinator.test_harvest_pages import as_, at, hidden, plain
from tests.filled import go_outside

pytestmark = pytest.mark.embedded


def told_of(cast: Cast, here: Building, litres: float = 45) -> Brought:
    site = Site.objects.within(here).get()
    return Brought.from_raw({"uid": uuid4(), "site": site.uid, "litres": litres, "kind": "leaves"})


@time_machine.travel(NOW, tick=False)
def test_a_household_writes_down_a_sack_and_takes_it_back(cast: Cast) -> None:
    resident, page = as_(cast.resident), at(cast, "browns-brought")
    assert f'href="{page}"' in resident.get(at(cast, "building")).content.decode()
    form = resident.get(page).content.decode()
    sent = {"uid": hidden(form, "uid"), "site": hidden(form, "site"), "kind": "leaves", "day": "2026-05-03"}
    refused = resident.post(page, sent)
    assert (refused.status_code, "How many litres did you bring?" in plain(refused)) == (422, True)
    seen = resident.post(page, sent | {"litres": "45,5"}, follow=True)
    assert "45.5 L" in plain(seen)
    again = resident.post(page, sent | {"litres": "46"})
    assert (again.status_code, "What was sent first was kept" in plain(again)) == (422, True)
    with inside(cast.building.uid) as here:
        row = BrownsStock.objects.within(here).get()
        assert (row.act, row.kind, row.millilitres, row.via) == ("delivery", "leaves", 45_500, "web")
        assert row.attribution.household == cast.resident.household
    go_outside()
    undo = at(cast, "browns-brought-undo", row.uid)
    assert as_(cast.neighbour).post(undo).status_code == 404
    assert "45.5 L" not in plain(as_(cast.neighbour).get(page))
    assert "45.5 L" not in plain(resident.post(undo, follow=True))


@time_machine.travel(NOW, tick=False)
def test_by_api_the_same_record_is_answered_alike_and_names_nobody_else(cast: Cast) -> None:
    own, other = Caller(cast, cast.resident), Caller(cast, cast.neighbour)
    body = {"uid": str(uuid4()), "site": str(cast.drum.site.uid), "litres": 30, "kind": "straw"}
    first, again = (own.post("browns-brought/", body) for _ in range(2))
    assert (first.status_code, again.status_code, first.json()) == (201, 200, again.json())
    assert (first.json()["millilitres"], first.json()["day"]) == (30_000, "2026-05-04")
    assert own.post("browns-brought/", body | {"litres": 31}).status_code == 422
    assert own.post("browns-brought/", body | {"site": str(uuid4())}).status_code in (404, 422)
    assert (len(own.get("browns-brought/").json()), other.get("browns-brought/").json()) == (1, [])
    assert other.post(f"browns-brought/{body['uid']}/undo/", {}).status_code == 404
    undone = own.post(f"browns-brought/{body['uid']}/undo/", {}).json()
    assert (undone["millilitres"], undone["reverses"]) == (-30_000, body["uid"])
    assert own.get("browns-brought/").json() == []


@time_machine.travel(OUT, tick=False)
def test_the_share_page_says_why_in_what_the_household_did(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        household = cast.resident.household
        assert household is not None
        told = told_of(cast, here)
        bring(here, cast.drum, cast.resident, 1)
        bring(here, cast.drum, cast.neighbour, 3)
        bring_browns(building=here, told=told, household=household, person=cast.resident, via="web", now=NOW)
        harvest = take_out(here, lot(here, cast.drum), 10)
        share_out(here, harvest)
    go_outside()
    seen = html.unescape(plain(as_(cast.resident).get(at(cast, "share"))))
    assert "You were due 4 tubs and get them." in seen
    assert "1 drop-off (1.0 kg)" in seen
    assert "45 L of browns brought" in seen
    assert "By this lot's rule you took part." in seen
    assert "3 drop-offs, a care visit, a duty done, or browns brought" in seen
    theirs = html.unescape(plain(as_(cast.neighbour).get(at(cast, "share"))))
    assert "3 drop-offs (3.0 kg)" in theirs
    assert "browns brought" not in theirs.replace("a duty done, or browns brought", "")
    part = Caller(cast, cast.resident).get(f"harvests/{harvest.uid}/part-taken/").json()
    assert part == {
        "harvest": str(harvest.uid),
        "takes_part": True,
        "drop_offs": 1,
        "scraps_g": 1000,
        "care_minutes": 0,
        "browns_ml": 45_000,
    }


@time_machine.travel(OUT, tick=False)
def test_the_reasons_take_as_many_queries_however_much_was_brought(cast: Cast) -> None:
    counts = []
    with inside(cast.building.uid) as here:
        household = cast.resident.household
        assert household is not None
        bring(here, cast.drum, cast.resident, 3)
        harvest = take_out(here, lot(here, cast.drum), 10)
        share_out(here, harvest)
    go_outside()
    client = as_(cast.resident)
    client.get(at(cast, "share"))
    for _ in range(2):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            client.get(at(cast, "share"))
        counts.append(len(queries))
        with inside(cast.building.uid) as here:
            for _n in range(6):
                told = told_of(cast, here)
                bring_browns(building=here, told=told, household=household, person=None, via="web", now=NOW)
        go_outside()
    assert counts[0] == counts[1]
