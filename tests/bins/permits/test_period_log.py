"""What was recorded in a period: every kind of thing, no household, and nothing beyond the record."""

import datetime as dt
from uuid import uuid5

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.care.quarantine import Shutting, shut
from bins.cases.cases import Report, receive
from bins.intake.wrong_items import Found, record_wrong_item
from bins.models import Place
from bins.permits.period_log import Kind, PeriodLog, period_log
from households.models import Building
from households.tenancy import inside
from tests.bins.care.caring import visit
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded

DAY = NOW.date()
A_DAY = dt.timedelta(days=1)


def happen(cast: Cast, here: Building, number: int = 0, at: dt.datetime = NOW) -> None:
    """A visit with a level, a wrong item, a report and a shutting."""
    visit(cast, here, at, level="half")
    item = {"uid": uuid5(here.uid, f"item {number}"), "drum": cast.drum.uid, "item": "bags", "taken_out": "yes"}
    record_wrong_item(building=here, told=Found.from_raw(item), person=cast.caretaker, via="web", now=at)
    report = {"uid": uuid5(here.uid, f"report {number}"), "kind": "smell", "words": "Imani did it"}
    receive(building=here, told=Report.from_raw(report), language="en", now=at)
    place = Place.objects.within(here).get(drum=cast.drum, letter="B")
    if not place.is_quarantined:
        told = {"uid": uuid5(here.uid, f"shut {number}"), "place": place.uid, "reason": "Imani saw a shard"}
        shut(building=here, told=Shutting.from_raw(told), person=cast.caretaker, via="web", now=at)


def log(here: Building, first: dt.date = DAY, last: dt.date = DAY) -> PeriodLog:
    return period_log(here, first, last)


def test_each_kind_of_thing_is_in_it_in_the_order_of_time_and_nobody_is(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        happen(cast, here)
        found = log(here)
        assert {line.kind for line in found.lines} == {
            Kind.VISIT, Kind.READING, Kind.WRONG_ITEM, Kind.REPORT, Kind.SHUT,
        }  # fmt: skip
        assert [line.at for line in found.lines] == sorted(line.at for line in found.lines)
        assert "Imani" not in repr(found)
        assert cast.caretaker.name not in repr(found)


def test_both_ends_count_by_the_buildings_clock(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        midnight = here.instant(DAY)
        for at in (midnight - dt.timedelta(seconds=1), midnight, midnight + A_DAY - dt.timedelta(seconds=1)):
            visit(cast, here, at)
        assert log(here).count(Kind.VISIT) == 2
        assert log(here, DAY - A_DAY).count(Kind.VISIT) == 3


def test_a_period_is_a_day_to_a_year(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert log(here, dt.date(2025, 5, 4), DAY).lines == ()  # 366 days with both ends
        for first in (dt.date(2025, 5, 3), DAY + A_DAY):
            with pytest.raises(ValueError, match="366"):
                log(here, first)


def test_the_log_asks_no_more_of_the_database_with_more_rows(cast: Cast) -> None:
    def asked(here: Building) -> int:
        with CaptureQueriesContext(connection) as queries:
            log(here)
        return len(queries)

    with inside(cast.building.uid) as here:
        happen(cast, here)
        few = asked(here)
        for number in range(1, 5):
            happen(cast, here, number, NOW + dt.timedelta(minutes=number))
        assert asked(here) == few == 6
