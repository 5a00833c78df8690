"""Limits from an authority: the newest holds, and from 80 % on it is near."""

import datetime as dt
from typing import Any
from uuid import uuid5

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.intake.dropoff import DropOff, record_drop_off
from bins.mixing.storing import Stored, record_stock
from bins.models import SiteLimit
from bins.permits.limits import LimitState, LimitTold, limit_states, set_limit
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building, CommitteeDecision, Site
from households.tenancy import inside
from tests.bins.care.caring import visit
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def told(here: Building, number: int = 0, **raw: Any) -> LimitTold:
    usual = {
        "uid": uuid5(here.uid, f"limit {number}"), "site": Site.objects.within(here).get().uid, "what": "scraps_year",
        "figure": 10, "source": "Letter of the town", "dated": "2026-03-01",
    }  # fmt: skip
    return LimitTold.from_raw(usual | raw)


def give(here: Building, number: int = 0, *, by: Any = None, **raw: Any) -> SiteLimit:
    return set_limit(building=here, told=told(here, number, **raw), person=by, via="web", now=NOW)


def bring(cast: Cast, here: Building, number: int, kilograms: str, at: dt.datetime = NOW) -> None:
    drop_off = DropOff.from_raw(
        {"uid": uuid5(here.uid, f"brought {number}"), "drum": cast.drum.uid, "kilograms": kilograms}
    )
    record_drop_off(
        building=here, told=drop_off, household=cast.resident.household, person=cast.resident, via="web", now=at
    )


def state(here: Building) -> LimitState:
    (found,) = limit_states(here, NOW)
    return found


@pytest.mark.parametrize(
    ("kilograms", "used", "percent", "is_near", "is_over"),
    [("7.9", 8, 80, True, False), ("7", 7, 70, False, False), ("8", 8, 80, True, False), ("10", 10, 100, True, False),
     ("10.001", 11, 110, True, True)],
)  # fmt: skip
def test_at_eighty_percent_a_limit_is_near(
    cast: Cast, kilograms: str, used: int, percent: int, is_near: bool, is_over: bool
) -> None:
    with inside(cast.building.uid) as here:
        give(here)
        bring(cast, here, 1, kilograms)
        one = state(here)
        assert (one.used, one.percent, one.is_near, one.is_over) == (used, percent, is_near, is_over)


def test_a_calendar_year_begins_at_midnight_of_the_buildings_clock(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        give(here)
        new_year = dt.datetime(2025, 12, 31, 23, 0, tzinfo=dt.UTC)  # in Berlin
        bring(cast, here, 1, "3", new_year - dt.timedelta(seconds=1))
        bring(cast, here, 2, "2", new_year)
        assert state(here).used == 2


def test_the_newest_limit_holds_and_an_empty_one_lifts_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        give(here)
        give(here, 1, figure=20)
        assert state(here).figure == 20
        give(here, 2, figure="")
        assert limit_states(here, NOW) == ()


def test_what_is_stored_goes_by_the_level_last_seen(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        give(here, what="stored", figure=90)
        assert state(here).used == 0
        visit(cast, here, NOW, level="three_quarters")
        assert (state(here).used, state(here).percent) == (75, 83)  # of a hatch of 100 L


def test_browns_go_by_the_store(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        give(here, what="browns", figure=100)
        site = Site.objects.within(here).get()
        stored = {"uid": uuid5(here.uid, "came"), "site": site.uid, "act": "delivery", "litres": 79}
        record_stock(building=here, told=Stored.from_raw(stored), person=None, via="web", now=NOW)
        assert (state(here).used, state(here).is_near) == (79, False)


def test_a_limit_arrives_once_with_its_source_and_a_day_that_has_come(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert give(here) == give(here)
        with pytest.raises(UidReused):
            give(here, figure=11)
        with pytest.raises(Refused) as refused:
            give(here, 1, dated="2026-05-05")
        assert set(refused.value.errors) == {"dated"}
        with pytest.raises(Refused) as refused:
            told(here, what="noise", figure="0", source="", dated="")
        assert set(refused.value.errors) == {"what", "figure", "source", "dated"}


def test_where_the_committee_decides_it_is_theirs_to_write_down(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(decides="committee")
        with pytest.raises(Refused):
            give(here, by=cast.checker)
        give(here, by=cast.committee)
        assert CommitteeDecision.objects.within(here).get().figures == {"limit_on": "scraps_year", "figure": 10}


def test_limits_ask_no_more_of_the_database_with_more_rows(cast: Cast) -> None:
    def asked(here: Building) -> int:
        with CaptureQueriesContext(connection) as queries:
            limit_states(here, NOW)
        return len(queries)

    with inside(cast.building.uid) as here:
        assert asked(here) == 1
        for number, what in enumerate(("scraps_year", "stored", "browns")):
            give(here, number, what=what)
        bring(cast, here, 1, "1")
        few = asked(here)
        for number in range(3, 9):
            give(here, number, what=("stored", "browns")[number % 2])
            bring(cast, here, number, "1")
        assert asked(here) == few
