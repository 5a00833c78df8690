"""The pages and the API of parts, gifts, requests and the other rules."""

import html
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bins.care.stages import open_batch
from bins.harvests.balance import Balance, balance
from bins.models import Batch, Harvest, HarvestPart, Outgoing, Place, ShareRequest
from households.ledger import open_ledger
from households.models import CommitteeDecision, Site
from households.tenancy import inside
from tests.bins.harvests.harvested import (
    DAY,
    OUT,
    TUB,
    bring,
    fetch,
    lot,
    mature,
    resident,
    rule,
    share_out,
    shares_of,
    take_out,
)
from tests.cast import Cast
from tests.coordinator.test_harvest_api import Caller
from tests.coordinator.test_harvest_pages import as_, at, hidden, plain
from tests.filled import go_outside

pytestmark = pytest.mark.embedded


def said(response: object) -> str:
    return html.unescape(plain(response))


@pytest.fixture
def ready(cast: Cast) -> Batch:
    """Six households brought their pails, and the lot is finished."""
    with inside(cast.building.uid) as here:
        for name in "ABCDE":
            bring(here, cast.drum, resident(here, name))
        bring(here, cast.drum, cast.resident)
        batch = lot(here, cast.drum)
        mature(here, batch)
    go_outside()
    return batch


def fill_in(page: str, **values: str) -> dict[str, str]:
    return {"uid": hidden(page, "uid"), "part": "0"} | values


@time_machine.travel(OUT, tick=False)
def test_a_lot_is_measured_in_parts_and_one_is_taken_back(cast: Cast, ready: Batch) -> None:
    caretaker, form = as_(cast.caretaker), at(cast, "harvest", ready.uid)
    page = caretaker.get(form).content.decode()
    weights = {"tub_empty_kg": "0,2", "tub_water_kg": "10.5", "tub_full_kg": "7.8"}
    seen = caretaker.post(form, fill_in(page, whole_tubs="12", rest="more") | weights, follow=True)
    assert "12 tubs, 124 L." in said(seen)  # 10.3 L each
    page = seen.content.decode()
    caretaker.post(form, {"uid": str(uuid4()), "whole_tubs": "90", "part": "0", "rest": "more"})
    with inside(cast.building.uid) as here:
        wrong = HarvestPart.objects.within(here).get(whole_tubs=90)
    go_outside()
    seen = caretaker.post(at(cast, "harvest-part-undo", wrong.uid), follow=True)
    assert "90 tubs" not in said(seen)
    refused = caretaker.post(form, {"uid": str(uuid4()), "whole_tubs": "3", "part": "0"})
    assert (refused.status_code, "Is it empty now, or is more inside?" in said(refused)) == (422, True)
    done = caretaker.post(form, {"uid": str(uuid4()), "rest": "is_empty", "all_measured": "yes"}, follow=True)
    assert "12 tubs came out of drum 1." in said(done)
    assert "by one weighed tub: 91.2 kg, 0.74 kg/L" in said(done)
    found = caretaker.post(form, {"uid": str(uuid4()), "whole_tubs": "1", "part": "0.5", "rest": "more"}, follow=True)
    assert "It comes on top: more was found" in said(found)
    with inside(cast.building.uid) as here:
        harvest = Harvest.objects.within(here).get()
        assert balance(here, harvest).harvested == 13_500_000
    split = caretaker.get(at(cast, "split", harvest.uid))
    assert "It was measured in 2 parts." in said(split)
    assert as_(cast.committee).post(at(cast, "harvest-part-undo", wrong.uid)).status_code == 404


@time_machine.travel(OUT, tick=False)
def test_a_resident_gives_some_of_the_share_away(cast: Cast, ready: Batch) -> None:
    with inside(cast.building.uid) as here:
        harvest = take_out(here, ready, 30)
        share_out(here, harvest)
    go_outside()
    own = as_(cast.resident)
    page = own.get(at(cast, "share")).content.decode()
    told = {"uid": hidden(page, "uid"), "share": hidden(page, "share"), "to": "neighbours"}
    refused = own.post(at(cast, "share-gift"), told | {"tubs": "9"})
    assert (refused.status_code, "Only 4.0 tubs of this share are left." in said(refused)) == (422, True)
    assert own.post(at(cast, "share-gift"), told | {"share": str(uuid4())}).status_code == 404
    seen = own.post(at(cast, "share-gift"), told | {"tubs": "1.5"}, follow=True)
    assert "Written down as given away. Thank you." in said(seen)
    with inside(cast.building.uid) as here:
        assert balance(here, harvest) == Balance(30 * TUB, reserve=6 * TUB, gift=1_500_000)
        row = Outgoing.objects.within(here).get(kind="gift")
    caretaker = as_(cast.caretaker)
    assert "Given away: 1.5." in said(caretaker.get(at(cast, "hand-out", harvest.uid)))
    assert "Given away 1.5" in said(caretaker.get(at(cast, "split", harvest.uid)))
    back = caretaker.post(at(cast, "outgoing-undo", row.uid))
    assert back["Location"] == at(cast, "hand-out", harvest.uid)


@time_machine.travel(OUT, tick=False)
def test_a_resident_asks_for_tubs_of_a_lot_that_goes_by_requests(cast: Cast, ready: Batch) -> None:
    own = as_(cast.resident)
    assert "how much would you like" not in said(own.get(at(cast, "share")))
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="request", most_tubs=3)
    go_outside()
    page = own.get(at(cast, "share")).content.decode()
    told = {"uid": hidden(page, "uid"), "batch": hidden(page, "batch")}
    refused = own.post(at(cast, "share-request"), told | {"tubs": "a few"})
    assert (refused.status_code, 'value="a few"' in refused.content.decode()) == (422, True)
    seen = own.post(at(cast, "share-request"), told | {"tubs": "2"}, follow=True)
    assert "You asked for 2 tubs." in said(seen)
    assert own.post(at(cast, "share-request"), told | {"tubs": "5"}).status_code == 422  # sent with other words
    with inside(cast.building.uid) as here:
        harvest = take_out(here, ready, 10)
    page_ = said(as_(cast.committee).get(at(cast, "split", harvest.uid)))
    assert "The rule of this lot: by what each household asks for." in page_
    assert "Nobody gets more than 3 tubs at once." in page_


@time_machine.travel(OUT, tick=False)
def test_two_choices_stand_first_and_the_others_behind_a_fold(cast: Cast) -> None:
    page = as_(cast.committee).get(at(cast, "sharing")).content.decode()
    before, after = page.split("Other rules")
    assert [f'value="{kind}"' in before for kind in ("equal", "contribution", "care", "request")] == [
        True, True, False, False,
    ]  # fmt: skip
    assert 'value="care"' in after
    assert 'value="request"' in after
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
    told = {
        "site": str(site.uid), "sharing_kind": "care", "reserve_percent": "10", "ceiling_percent": "",
        "least_drop_offs": "3", "tub_litres": "10", "unclaimed_after_days": "14", "least_tubs": "1", "most_tubs": "4",
        "minutes_a_visit": "20", "uid": str(uuid4()), "decided_on": "2026-08-01", "why": "the work is what we lack",
    }  # fmt: skip
    for _ in range(2):  # sent twice is decided once
        assert as_(cast.committee).post(at(cast, "sharing"), told).status_code == 302
    assert as_(cast.committee).post(at(cast, "sharing"), told | {"why": "another"}).status_code == 422
    with inside(cast.building.uid) as here:
        (row,) = CommitteeDecision.objects.within(here).filter(about="sharing")
        assert (row.why, row.figures) == (
            "the work is what we lack",
            {
                "sharing_kind": "care", "reserve_percent": 10, "ceiling_percent": None, "least_tubs": 1,
                "most_tubs": 4, "minutes_a_visit": 20,
            },
        )  # fmt: skip
    seen = said(as_(cast.resident).get(at(cast, "sharing")))
    assert "by the care work that it did" in seen
    assert "Nobody gets more than 4 tubs at once." in seen
    assert "At most so many tubs for one household at once" in said(as_(cast.resident).get(at(cast, "committee")))


@time_machine.travel(OUT, tick=False)
def test_the_api_measures_in_parts_asks_and_gives(cast: Cast, ready: Batch) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="request", reserve_percent=0)
    go_outside()
    caretaker, own, committee = (Caller(cast, person) for person in (cast.caretaker, cast.resident, cast.committee))
    part = {"uid": str(uuid4()), "batch": str(ready.uid), "whole_tubs": 4, "tub_litres": 12, "overs_litres": 0}
    first, again = (caretaker.post("harvest-parts/", part) for _ in range(2))
    assert (first.status_code, again.status_code, first.json()) == (201, 200, again.json())
    assert caretaker.post("harvest-parts/", part | {"batch": str(uuid4()), "uid": str(uuid4())}).status_code == 404
    wrong = caretaker.post("harvest-parts/", part | {"uid": str(uuid4()), "whole_tubs": 9}).json()
    back = caretaker.post(f"harvest-parts/{wrong['uid']}/undo/", {})
    assert (back.status_code, back.json()["whole_tubs"]) == (200, -9)
    body = {"uid": str(uuid4()), "batch": str(ready.uid), "whole_tubs": 6, "is_empty": True, "tub_litres": 12}
    made = caretaker.post("harvests/", body).json()
    assert (made["harvested_millionths"], made["harvested_ml"], made["parts"]) == (10 * TUB, 120_000, 1)

    assert caretaker.get(f"batches/{ready.uid}/").json()["overs_ml"] == 0  # they go into another lot
    assert own.get("share-requests/").json() == [{"batch": str(ready.uid), "tubs": None}]
    asked = own.post("share-requests/", {"uid": str(uuid4()), "batch": str(ready.uid), "tubs": 3})
    assert (asked.status_code, asked.json()["tubs"]) == (201, 3)
    assert own.post("share-requests/", {"uid": str(uuid4()), "batch": str(uuid4()), "tubs": 3}).status_code == 404
    with inside(cast.building.uid) as here:
        assert ShareRequest.objects.within(here).count() == 1
        harvest = Harvest.objects.within(here).select_related("batch__drum__site").get()
        shares = shares_of(here, share_out(here, harvest))
        assert {name: share.tubs for name, share in shares.items() if share.tubs} == {"3": 3}
    go_outside()
    gift = {"uid": str(uuid4()), "share": str(shares["3"].uid), "to": "garden", "tubs": 1}
    given = own.post("shares/gifts/", gift)
    assert (given.status_code, given.json()["gift_to"], given.json()["millionths"]) == (201, "garden", TUB)
    assert own.get("shares/").json()[0]["gift_millionths"] == TUB
    assert caretaker.get("harvests/").json()[0]["gift_millionths"] == TUB
    assert caretaker.get(f"harvests/{harvest.uid}/hand-out/").json()[0]["gift_millionths"] == TUB

    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
    go_outside()
    terms = own.get(f"sites/{site.uid}/sharing/").json()
    assert (terms["sharing_kind"], terms["most_tubs"]) == ("request", None)
    told = {
        "uid": str(uuid4()), "why": "fewer words", "sharing_kind": "equal", "reserve_percent": 20,
        "least_drop_offs": 3, "tub_litres": 10, "unclaimed_after_days": 14, "most_tubs": 6,
    }  # fmt: skip
    assert own.post(f"sites/{site.uid}/sharing/", told).status_code == 404
    done = committee.post(f"sites/{site.uid}/sharing/", told)
    assert (done.status_code, done.json()["most_tubs"], done.json()["sharing_kind"]) == (200, 6, "equal")
    unsaid = committee.post(f"sites/{site.uid}/sharing/", told | {"why": "", "most_tubs": 0})
    assert (unsaid.status_code, {one["field"] for one in unsaid.json()["errors"]}) == (422, {"why", "most_tubs"})
    assert committee.get(f"sites/{uuid4()}/sharing/").status_code == 404


@time_machine.travel(OUT, tick=False)
def test_the_list_for_the_day_has_everybody_who_fetches_of_any_harvest(cast: Cast, ready: Batch) -> None:
    caretaker, listing = as_(cast.caretaker), at(cast, "hand-out-day")
    assert "Nobody has compost to fetch today." in said(caretaker.get(listing))
    with inside(cast.building.uid) as here:
        first = take_out(here, ready, 30)
        split = share_out(here, first)
        fetch(here, shares_of(here, split)["A"], 1)
    go_outside()

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert caretaker.get(listing).status_code == 200
        return len(seen)

    few = queries()
    with inside(cast.building.uid) as here:
        place = Place.objects.within(here).get(drum=cast.drum, letter="B")
        for _ in range(2):
            with open_ledger(here) as ledger:
                batch = open_batch(ledger, place, uid=uuid4(), person=None, via="web", at=OUT)
            bring(here, cast.drum, cast.resident, at=OUT)
            share_out(here, take_out(here, batch, 5))
    go_outside()
    assert queries() == few
    seen = said(caretaker.get(listing))
    # Of 24 one is fetched; of the other two harvests each 4 are Imani's alone.
    assert "6 households have compost to fetch: 31 tubs." in seen
    assert seen.count("Write down what was fetched: drum 1") == 3
    assert "Who gets what, of all harvests" in said(caretaker.get(at(cast, "today")))
    assert as_(cast.committee).get(listing).status_code == 404
    lines = Caller(cast, cast.caretaker).get("hand-out/").json()
    assert (len(lines), {line["household"] for line in lines if line["harvest"] != str(first.uid)}) == (8, {"Flat 3"})
    with time_machine.travel(OUT + 22 * DAY, tick=False):
        assert "Nobody has compost to fetch today." in said(caretaker.get(listing))


@time_machine.travel(OUT, tick=False)
def test_pages_with_parts_and_gifts_take_as_many_queries_for_many_as_for_few(cast: Cast, ready: Batch) -> None:
    def queries(client: Client, path: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert client.get(path).status_code == 200
        return len(seen)

    caretaker, own, form = as_(cast.caretaker), as_(cast.resident), at(cast, "harvest", ready.uid)

    def part() -> None:
        caretaker.post(form, {"uid": str(uuid4()), "whole_tubs": "2", "part": "0", "rest": "more"})

    part()
    few = queries(caretaker, form)
    for _ in range(4):
        part()
    assert queries(caretaker, form) == few
    with inside(cast.building.uid) as here:
        harvest = take_out(here, ready, 30)
        share_out(here, harvest)
    go_outside()
    page = own.get(at(cast, "share")).content.decode()
    told = {"share": hidden(page, "share"), "to": "garden", "tubs": "0.5"}
    own.post(at(cast, "share-gift"), told | {"uid": str(uuid4())})
    listing = at(cast, "hand-out", harvest.uid)
    few, few_own = queries(caretaker, listing), queries(own, at(cast, "share"))
    for _ in range(3):
        own.post(at(cast, "share-gift"), told | {"uid": str(uuid4())})
    assert (queries(caretaker, listing), queries(own, at(cast, "share"))) == (few, few_own)
