"""Paper: signs and sheets in one or two languages, without names; cards that are renewed."""

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bins.models import Batch, Decision, Drum, Place
from households.cards import household_of_card
from households.models import Building, Card, Person, Site
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of, newcomer
from tests.coordinator.test_setup import client_of
from tests.filled import go_outside, live

pytestmark = pytest.mark.embedded


def page(client: Client, name: str, *args: object, **query: str) -> str:
    reply = client.get(reverse(name, args=args), query)
    assert reply.status_code == 200
    return reply.content.decode()


@pytest.fixture
def caretaker(cast: Cast) -> Client:
    return client_of(account_of(cast.caretaker))


def set_second_language(cast: Cast, language: str) -> None:
    with inside(cast.building.uid) as here:
        Building.objects.filter(pk=here.pk).update(second_language=language)
    go_outside()


@pytest.mark.parametrize("name", ["sign", "sheet-log"])
def test_paper_is_in_the_buildings_one_language_or_in_both_side_by_side(
    cast: Cast, caretaker: Client, name: str
) -> None:
    alone = page(caretaker, name, cast.building.uid, cast.drum.uid).partition("<article")[2]
    assert 'lang="en"' in alone
    assert 'dir="rtl"' not in alone
    set_second_language(cast, "ar")
    both = page(caretaker, name, cast.building.uid, cast.drum.uid).partition("<article")[2]
    assert 'lang="ar" dir="rtl"' in both


def test_a_sign_can_be_printed_in_another_second_language_or_in_none(cast: Cast, caretaker: Client) -> None:
    set_second_language(cast, "ar")
    french = page(caretaker, "sign", cast.building.uid, cast.drum.uid, second="fr").partition("<article")[2]
    assert ('lang="fr"' in french, 'lang="ar"' in french) == (True, False)
    alone = page(caretaker, "sign", cast.building.uid, cast.drum.uid, second="").partition("<article")[2]
    assert 'dir="rtl"' not in alone
    odd = page(caretaker, "sign", cast.building.uid, cast.drum.uid, second="xx").partition("<article")[2]
    assert 'lang="xx"' not in odd


def test_a_sign_names_no_hatch_and_says_the_way_out(cast: Cast, caretaker: Client) -> None:
    sign = page(caretaker, "sign", cast.building.uid, cast.drum.uid).partition("<article")[2]
    assert "hatch with the tag" in sign
    assert "hatch A" not in sign
    assert "the brown bin by the gate" in sign
    assert f"/b/{cast.building.uid}/d/{cast.drum.uid}/" in sign


def test_no_name_of_a_person_or_a_household_stands_on_any_sheet(cast: Cast, caretaker: Client) -> None:
    live(cast)
    with inside(cast.building.uid) as here:
        names = {*Person.objects.within(here).values_list("name", flat=True), "Flat 3", "Flat 5"}
    go_outside()
    for address in (("sign", cast.drum.uid), ("sheet-log", cast.drum.uid), ("sheet-week",)):
        sheet = page(caretaker, address[0], cast.building.uid, *address[1:]).partition("<article")[2]
        assert [name for name in names if name in sheet] == []


def test_the_weeks_list_has_what_is_due_how_to_get_in_and_the_days_of_this_week(cast: Cast, caretaker: Client) -> None:
    live(cast)
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(access="The key hangs at the super's door.")
    go_outside()
    with time_machine.travel(NOW, tick=False):
        sheet = page(caretaker, "sheet-week", cast.building.uid)
    assert "Move the tag on drum 1 from hatch A to hatch B." in sheet
    assert "The key hangs at the super" in sheet
    assert "The drums in the week from May 4, 2026" in sheet
    assert sheet.count('<th scope="row">') == 7


def test_the_weeks_list_asks_no_more_of_the_database_with_more_drums(cast: Cast, caretaker: Client) -> None:
    address = reverse("sheet-week", args=[cast.building.uid])
    caretaker.get(address)
    with CaptureQueriesContext(connection) as one:
        caretaker.get(address)
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
        caretaker.get(address)
    assert len(four) == len(one)


def test_the_caretaker_sees_cards_and_renews_a_lost_one(cast: Cast, caretaker: Client) -> None:
    household = cast.resident.household
    assert household is not None
    with inside(cast.building.uid) as here:
        old = Card.objects.within(here).get(household=household).number
    go_outside()
    assert old in page(caretaker, "people", cast.building.uid)
    reply = caretaker.post(reverse("card-renew", args=[cast.building.uid, household.uid]))
    assert reply.status_code == 302
    with inside(cast.building.uid) as here:
        new = Card.objects.within(here).get(household=household, cancelled_on__isnull=True).number
        assert household_of_card(here, new) == household
        assert household_of_card(here, old) is None
    go_outside()
    shown = page(caretaker, "people", cast.building.uid)
    assert "Cards that no longer count:" in shown
    assert new in shown
    assert old in page(caretaker, "sheet-week", cast.building.uid)


def test_the_people_page_asks_no_more_of_the_database_with_more_households(cast: Cast, caretaker: Client) -> None:
    address = reverse("people", args=[cast.building.uid])
    caretaker.get(address)
    with CaptureQueriesContext(connection) as few:
        caretaker.get(address)
    for flat in range(6, 12):
        newcomer(cast.building, f"Person{flat}", f"Flat {flat}", "resident")
    go_outside()
    with CaptureQueriesContext(connection) as more:
        caretaker.get(address)
    assert len(more) == len(few)


@pytest.mark.parametrize(("decides", "asks"), [("caretaker", False), ("committee", True)])
def test_where_the_committee_decides_the_lists_say_so_but_for_the_tag(
    cast: Cast, caretaker: Client, decides: str, asks: bool
) -> None:
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(decides=decides)
        batch = Batch.objects.within(here).get()
        common = {"building": here, "batch": batch, "version": "days-1", "figures_at": NOW, "made_at": NOW}
        fresh = {"from_stage": "composting", "to_stage": "composting", "reason": "fresh_noted"}
        Decision.objects.create(rule="7-fresh-scraps", **fresh, **common)
    go_outside()
    for name in ("sheet-week", "today"):
        assert ("The committee decides" in page(caretaker, name, cast.building.uid)) is asks
    with inside(cast.building.uid) as here:
        figures = {"level_percent": 80, "close_mark_percent": 75}
        close = {"rule": "2-close", "from_stage": "filling", "to_stage": "composting", "reason": "level_at_mark"}
        Decision.objects.within(here).delete()
        Decision.objects.create(figures=figures, **close, **common)
    go_outside()
    assert "The committee decides" not in page(caretaker, "sheet-week", cast.building.uid)
