"""The store of browns: counted, delivered, used, and what the pages say by it."""

import datetime as dt
from typing import Any
from uuid import uuid5

import pytest
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext

from bins.intake.dropoff import DropOff, record_drop_off
from bins.mixing.amending import Added, amend
from bins.mixing.stock import StockState, stocks
from bins.mixing.storing import Kept, Stored, record_stock, set_store, undo_stock
from bins.models import Batch, BrownsStock, BrownsStockAttribution
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building, Site
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded

DAY = dt.timedelta(days=1)


def stored(here: Building, act: str, litres: float, number: int = 0, **raw: Any) -> Stored:
    site = Site.objects.within(here).get()
    return Stored.from_raw(
        {"uid": uuid5(here.uid, f"stock {number}"), "site": site.uid, "act": act, "litres": litres} | raw
    )


def write(
    here: Building, act: str, litres: float, number: int = 0, *, at: dt.datetime = NOW, **raw: Any
) -> BrownsStock:
    told = stored(here, act, litres, number, **raw)
    return record_stock(building=here, told=told, person=None, via="web", now=at).row


def bring(cast: Cast, here: Building, number: int, at: dt.datetime, cups: int) -> None:
    """A full pail with cups of a litre."""
    told = DropOff.from_raw(
        {"uid": uuid5(here.uid, f"brought {number}"), "drum": cast.drum.uid, "quarter_pails": 4, "browns_cups": cups}
    )
    record_drop_off(
        building=here, told=told, household=cast.resident.household, person=cast.resident, via="web", now=at
    )


def state(here: Building, at: dt.datetime = NOW) -> StockState:
    (found,) = stocks(here, at)
    return found


def test_without_a_count_or_a_delivery_nobody_knows_and_nothing_is_asked(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        one = state(here)
        assert (one.litres, one.days, one.is_low, one.room) == (None, None, False, None)


def test_what_is_there_is_the_count_and_what_came_less_what_drop_offs_and_corrections_took(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bring(cast, here, 0, NOW - DAY, 3)  # before the count: it is in it already
        write(here, "count", 100)
        write(here, "delivery", 50, 1, at=NOW + DAY)
        bring(cast, here, 1, NOW + DAY, 4)
        batch = Batch.objects.within(here).get()
        added = {"batch": batch.uid, "browns": "pellets", "browns_litres": 6, "water_litres": 9}
        amend(
            building=here, told=Added.from_raw({"uid": uuid5(here.uid, "added")} | added), person=None, via="web",
            now=NOW + DAY,
        )  # fmt: skip
        assert state(here, NOW + 2 * DAY).litres == 140
        write(here, "count", 120, 2, at=NOW + 3 * DAY)  # somebody looked: that is what is there
        assert state(here, NOW + 3 * DAY).litres == 120


def test_a_count_or_delivery_that_was_taken_back_counts_for_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        write(here, "count", 100)
        wrong = write(here, "count", 999, 1, at=NOW + DAY)
        undone = undo_stock(building=here, uid=wrong.uid, person=None, via="web", now=NOW + DAY)
        assert undo_stock(building=here, uid=wrong.uid, person=None, via="web", now=NOW + DAY) == undone
        assert state(here, NOW + DAY).litres == 100


def test_the_plan_gives_the_weekly_use_until_there_are_two_weeks_of_drop_offs(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        # Twelve households, 2.2 kg at 0.45 kg/L: 4.89 L of scraps a week each; a pail of 8 L with 8 cups of a litre.
        Site.objects.within(here).update(households_expected=12, half_cups_per_pail=16)
        one = state(here)
        assert (round(one.weekly, 1), one.is_measured, one.reorder_at) == (58.7, False, 293)
        for day in range(13):
            bring(cast, here, day, NOW - (13 - day) * DAY, 2)
        assert not state(here).is_measured
        bring(cast, here, 99, NOW - 14 * DAY, 2)
        measured = state(here)
        assert (measured.is_measured, measured.weekly) == (True, 14.0)  # 28 L in 14 days


@pytest.mark.parametrize(("litres", "is_low"), [(295, False), (294, True), (293, True)])
def test_at_the_reorder_point_it_is_time_to_order(cast: Cast, litres: int, is_low: bool) -> None:
    with inside(cast.building.uid) as here:
        # Z5: 58.8 L a week and five weeks make 294 L. For two weeks, 12 cups of 0.7 L each day: 8.4 L.
        Site.objects.within(here).update(cup_ml=700)
        for day in range(1, 15):
            bring(cast, here, day, NOW - day * DAY, 12)
        write(here, "count", litres)
        one = state(here)
        assert (round(one.weekly, 6), one.reorder_at, one.is_low) == (58.8, 294, is_low)
        assert one.days == 35 - (litres < 294)


def test_an_empty_store_is_said_on_all_pages_and_a_delivery_takes_that_back(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        write(here, "count", 0)
        assert Site.objects.within(here).get().browns_out_since == NOW
        write(here, "delivery", 30, 1, at=NOW + DAY)
        assert Site.objects.within(here).get().browns_out_since is None
        # A slip from before says nothing of the present.
        write(here, "count", 0, 2, at=NOW + 2 * DAY, day="2026-05-04")
        assert Site.objects.within(here).get().browns_out_since is None


def test_who_fetched_a_delivery_stands_in_the_second_row(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert cast.resident.household is not None
        row = write(here, "delivery", 40, fetched_by=str(cast.resident.household.uid))
        assert BrownsStockAttribution.objects.within(here).get(row=row).household == cast.resident.household
        with pytest.raises(Refused) as refused:
            write(here, "delivery", 40, 1, fetched_by=str(uuid5(here.uid, "nobody")))
        assert set(refused.value.errors) == {"fetched_by"}


def test_a_row_arrives_once_and_is_only_added_to(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert write(here, "delivery", 40) == write(here, "delivery", 40)
        with pytest.raises(UidReused):
            write(here, "delivery", 41)
        with pytest.raises(DatabaseError), transaction.atomic():
            BrownsStock.objects.within(here).update(millilitres=1)


@pytest.mark.parametrize(("act", "litres", "fails"), [("delivery", 0, True), ("count", 0, False), ("count", -1, True)])
def test_a_delivery_brings_something_and_a_count_may_find_nothing(
    cast: Cast, act: str, litres: float, fails: bool
) -> None:
    with inside(cast.building.uid) as here:
        if fails:
            with pytest.raises(Refused) as refused:
                stored(here, act, litres)
            assert set(refused.value.errors) == {"litres"}
        else:
            assert stored(here, act, litres).millilitres == 0


def test_a_site_keeps_its_own_limit_and_spans(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
        assert state(here).most == 300  # pellets in a closed room
        told = Kept.from_raw({"room": "outdoors", "most_litres": "150", "delivery_weeks": "4"})
        set_store(building=here, site_uid=site.uid, told=told, person=None, now=NOW)
        write(here, "delivery", 160)
        one = state(here)
        assert (one.most, one.store.delivery_weeks, one.is_over, one.room) == (150, 4, True, 0)
        with pytest.raises(Refused) as refused:
            Kept.from_raw({"room": "attic", "safety_weeks": "27"})
        assert set(refused.value.errors) == {"room", "safety_weeks"}


def test_the_store_asks_no_more_of_the_database_with_more_rows(cast: Cast) -> None:
    def asked(here: Building) -> int:
        with CaptureQueriesContext(connection) as queries:
            stocks(here, NOW + DAY)
        return len(queries)

    with inside(cast.building.uid) as here:
        write(here, "count", 100)
        bring(cast, here, 0, NOW, 1)
        few = asked(here)
        for number in range(1, 12):
            write(here, "delivery", 10, number)
            bring(cast, here, number, NOW, 1)
        assert asked(here) == few == 7
