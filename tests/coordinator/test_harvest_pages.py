"""The pages of a harvest: measure, look, share out, hand out, and what each person may see of it."""

import datetime as dt
import html
import re
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bins.care.stages import open_batch
from bins.harvests.balance import Balance, balance
from bins.models import Batch, Harvest, Outgoing, Place, Split
from households.ledger import open_ledger
from households.models import Building, Household, Notice, Person, Site
from households.tenancy import inside
from tests.bins.harvests.harvested import DAY, OUT, TUB, bring, lot, mature, resident, rule, share_out, take_out
from tests.cast import Cast, account_of
from tests.filled import go_outside

pytestmark = pytest.mark.embedded


def as_(person: Person) -> Client:
    client = Client()
    client.force_login(account_of(person), backend="allauth.account.auth_backends.AuthenticationBackend")
    return client


def hidden(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found, name
    return found[1]


def plain(response: object) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())  # type: ignore[attr-defined]


@pytest.fixture
def finished(cast: Cast) -> Batch:
    """Twelve households brought their pails, and the lot is finished."""
    with inside(cast.building.uid) as here:
        for name in "ABCDEFGHIJK":
            bring(here, cast.drum, resident(here, name))
        bring(here, cast.drum, cast.resident)
        batch = lot(here, cast.drum)
        mature(here, batch)
    go_outside()
    return batch


def at(cast: Cast, name: str, *args: object) -> str:
    return reverse(name, args=[cast.building.uid, *args])


@time_machine.travel(OUT, tick=False)
def test_from_the_days_list_to_the_last_tub_fetched(cast: Cast, finished: Batch) -> None:
    caretaker, form = as_(cast.caretaker), at(cast, "harvest", finished.uid)
    assert form in caretaker.get(at(cast, "today")).content.decode()
    page = caretaker.get(form).content.decode()
    answer = {"uid": hidden(page, "uid"), "whole_tubs": "56", "part": "0.3", "tub_litres": "10", "is_empty": "yes"}
    seen = caretaker.post(form, answer, follow=True)
    # 56.3 tubs: a fifth is 11.26, so 0.3 and 11 tubs for the beds; 45 for twelve: nine get four, three get three.
    assert "Shared out now: 9 households get 4, 3 households get 3." in plain(seen)
    assert "For the beds: 11.3 tubs." in plain(seen)
    split = seen.redirect_chain[0][0]
    page = seen.content.decode()
    sharing = {"uid": hidden(page, "uid"), "mark": hidden(page, "mark")}
    done = caretaker.post(split, sharing | {"pick_up_on": "2026-08-12", "pick_up_where": "by the drums"}, follow=True)
    assert "9 households get 4, 3 households get 3." in plain(done)
    listing = at(cast, "hand-out", split.split("/")[-2])
    page = caretaker.get(listing).content.decode()
    assert "Flat 3" in page
    fetched = caretaker.post(listing, {"uid": hidden(page, "uid"), "share": hidden(page, "share")}, follow=True)
    assert "11 households have not fetched all of their share." in plain(fetched)
    own = plain(as_(cast.resident).get(at(cast, "share")))
    assert re.search(r"You were due 3\.[78] tubs( and)?,? get [34]", own)
    assert "by the drums" in own
    with inside(cast.building.uid) as here:
        assert Notice.objects.filter(building=here, kind="share").count() == 12


@time_machine.travel(OUT, tick=False)
def test_a_form_that_cannot_be_right_keeps_what_was_filled_in(cast: Cast, finished: Batch) -> None:
    caretaker, form = as_(cast.caretaker), at(cast, "harvest", finished.uid)
    refused = caretaker.post(form, {"uid": str(uuid4()), "whole_tubs": "many", "part": "0.25", "kilograms": "12"})
    page = refused.content.decode()
    assert refused.status_code == 422
    assert 'value="many"' in page
    assert 'value="0.25" selected' in page
    assert page.count('class="error"') == 2  # the tubs, and that it is empty
    with inside(cast.building.uid) as here:
        assert Harvest.objects.within(here).count() == 0


@time_machine.travel(OUT, tick=False)
def test_a_lot_taken_out_early_carries_a_remark(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
    caretaker, form = as_(cast.caretaker), at(cast, "harvest", batch.uid)
    assert "By the rules this lot is not finished" in plain(caretaker.get(form))
    answer = {"uid": str(uuid4()), "whole_tubs": "3", "is_empty": "yes"}
    seen = plain(caretaker.post(form, answer, follow=True))
    assert "By the rules this lot was not finished when it was taken out." in seen
    assert "Nobody has a share in them, so all of it is for the beds." in seen


@time_machine.travel(OUT, tick=False)
def test_what_changed_since_the_preview_is_shown_again_and_nothing_is_shared(cast: Cast, finished: Batch) -> None:
    with inside(cast.building.uid) as here:
        harvest = take_out(here, finished, 56)
    committee, address = as_(cast.committee), at(cast, "split", harvest.uid)
    page = committee.get(address).content.decode()
    answer = {"uid": hidden(page, "uid"), "mark": hidden(page, "mark"), "pick_up_on": "2026-08-12"}
    lost = as_(cast.caretaker).post(
        at(cast, "loss", harvest.uid), {"uid": str(uuid4()), "tubs": "1,5", "loss": "spilt", "witness": "Sorin"}
    )
    assert lost.status_code == 302
    refused = committee.post(address, answer | {"pick_up_where": "by the drums"})
    assert refused.status_code == 422
    assert "Something was written down since you looked." in plain(refused)
    with inside(cast.building.uid) as here:
        assert Split.objects.within(here).count() == 0
        assert balance(here, harvest) == Balance(56 * TUB, lost=1_500_000)


@time_machine.travel(OUT, tick=False)
def test_the_committee_sees_counts_and_nobody_but_the_caretaker_sees_names(cast: Cast, finished: Batch) -> None:
    with inside(cast.building.uid) as here:
        harvest = take_out(here, finished, 56)
        share_out(here, harvest)
        labels = [household.label for household in Household.objects.within(here)]
    committee = as_(cast.committee)
    page = committee.get(at(cast, "split", harvest.uid))
    assert page.status_code == 200
    assert not [label for label in labels if label in plain(page)]
    assert committee.get(at(cast, "hand-out", harvest.uid)).status_code == 404
    assert as_(cast.resident).get(at(cast, "split", harvest.uid)).status_code == 404
    assert as_(cast.resident).get(at(cast, "hand-out", harvest.uid)).status_code == 404


@pytest.mark.parametrize(("days", "status"), [(0, 200), (21, 200), (22, 404)])
def test_the_list_of_names_closes_a_week_after_the_last_day(
    cast: Cast, finished: Batch, days: int, status: int
) -> None:
    with inside(cast.building.uid) as here:
        harvest = take_out(here, finished, 56)
        share_out(here, harvest)
    go_outside()
    with time_machine.travel(OUT + days * DAY, tick=False):
        assert as_(cast.caretaker).get(at(cast, "hand-out", harvest.uid)).status_code == status


@time_machine.travel(OUT, tick=False)
def test_under_five_households_nothing_is_broken_down(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for name in "ABCD":
            bring(here, cast.drum, resident(here, name))
        harvest = take_out(here, lot(here, cast.drum), 17)
    seen = plain(as_(cast.committee).get(at(cast, "split", harvest.uid)))
    assert "4 households get 14 of them together." in seen
    assert "Fewer than five households" in seen
    assert "Tubs each" not in seen


@time_machine.travel(OUT, tick=False)
def test_a_resident_gives_the_share_away_and_takes_that_back(cast: Cast) -> None:
    resident_ = as_(cast.resident)
    for wish, says in (
        ("garden", "Your next shares go to the beds. What is owed"),
        ("neighbours", "Your next shares go to your neighbours: the lot's rule"),
        ("keep", "Your next shares are yours to fetch. If"),
    ):
        seen = resident_.post(at(cast, "share"), {"wish": wish}, follow=True)
        assert says in html.unescape(plain(seen))
        with inside(cast.building.uid) as here:
            household = Household.objects.within(here).get(label="Flat 3")
            assert (household.gives_to_garden, household.gives_to_neighbours) == (
                wish == "garden", wish == "neighbours",
            )  # fmt: skip
    assert resident_.post(at(cast, "share"), {"wish": "somebody"}).status_code == 422
    assert "Nothing has been shared out to your household yet." in plain(resident_.get(at(cast, "share")))
    assert as_(cast.caretaker).get(at(cast, "share")).status_code == 404


@time_machine.travel(OUT, tick=False)
def test_a_pick_up_of_too_much_says_what_is_left_and_one_is_taken_back(cast: Cast, finished: Batch) -> None:
    with inside(cast.building.uid) as here:
        harvest = take_out(here, finished, 56)
        share_out(here, harvest)
    caretaker, listing = as_(cast.caretaker), at(cast, "hand-out", harvest.uid)
    page = caretaker.get(listing).content.decode()
    share = hidden(page, "share")
    refused = caretaker.post(listing, {"uid": hidden(page, "uid"), "share": share, "tubs": "9"})
    assert refused.status_code == 422
    assert "tubs of this share are left." in plain(refused)
    assert caretaker.post(listing, {"uid": str(uuid4()), "share": str(uuid4())}).status_code == 404
    caretaker.post(listing, {"uid": str(uuid4()), "share": share, "tubs": "1"})
    with inside(cast.building.uid) as here:
        row = Outgoing.objects.within(here).get(kind="given")
    assert caretaker.post(at(cast, "outgoing-undo", row.uid)).status_code == 302
    with inside(cast.building.uid) as here:
        assert balance(here, harvest).given == 0


@time_machine.travel(OUT, tick=False)
def test_the_committee_sets_the_rule_and_the_others_read_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
    address, told = at(cast, "sharing"), {
        "site": str(site.uid), "sharing_kind": "contribution", "reserve_percent": "10", "ceiling_percent": "",
        "least_drop_offs": "3", "tub_litres": "12", "unclaimed_after_days": "7", "uid": str(uuid4()),
        "decided_on": "2026-08-01", "why": "big kitchens asked for it",
    }  # fmt: skip
    assert as_(cast.resident).post(address, told).status_code == 404
    wrong = as_(cast.committee).post(address, told | {"reserve_percent": "120"})
    assert (wrong.status_code, 'value="120"' in wrong.content.decode()) == (422, True)
    assert as_(cast.committee).post(address, told | {"site": str(uuid4())}).status_code == 404
    unsaid = as_(cast.committee).post(address, told | {"why": "", "reserve_percent": "-1"})
    assert (unsaid.status_code, unsaid.content.decode().count('class="error"')) == (422, 2)
    assert as_(cast.committee).post(address, told).status_code == 302
    assert "big kitchens asked for it" in plain(as_(cast.resident).get(at(cast, "committee")))
    assert "by the weight that it brought" in plain(as_(cast.resident).get(address))
    with inside(cast.building.uid) as here:
        site.refresh_from_db()
        assert (site.sharing_kind, site.ceiling_percent, site.tub_ml) == ("contribution", None, 12_000)


@time_machine.travel(OUT, tick=False)
def test_pages_make_as_many_queries_for_many_households_as_for_few(
    cast: Cast, django_assert_num_queries: object
) -> None:

    def harvest_of(here: Building, names: str, now: dt.datetime) -> Harvest:
        for name in names:
            bring(here, cast.drum, resident(here, name), at=now - 9 * DAY)
        harvest = take_out(here, lot(here, cast.drum), 40, now=now)
        share_out(here, harvest, now)
        return harvest

    def queries(harvest: Harvest) -> list[int]:
        found = []
        for person, path in (
            (cast.caretaker, at(cast, "split", harvest.uid)),
            (cast.caretaker, at(cast, "hand-out", harvest.uid)),
            (cast.caretaker, at(cast, "harvests")),
            (cast.caretaker, at(cast, "today")),
        ):
            client = as_(person)
            with CaptureQueriesContext(connection) as seen:
                assert client.get(path).status_code == 200
            found.append(len(seen))
        return found

    with inside(cast.building.uid) as here:
        rule(here, least_drop_offs=1)
        few = harvest_of(here, "AB", OUT)
    before = queries(few)
    with inside(cast.building.uid) as here:
        place = Place.objects.within(here).get(drum=cast.drum, letter="A")
        with open_ledger(here) as ledger:
            open_batch(ledger, place, uid=uuid4(), person=None, via="web", at=OUT - 10 * DAY)
        many = harvest_of(here, "ABCDEFGHIJ", OUT)
    after = queries(many)  # with an earlier split there are three more: which of its tubs are over
    assert [many <= few + 3 for many, few in zip(after, before, strict=True)] == [True] * 4, (before, after)
