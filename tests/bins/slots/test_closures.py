"""Closed days that return each year: over New Year, and on 29 February."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.duties.planning import gather
from bins.records import Refused
from bins.slots.ahead import occurrences
from bins.slots.closures import ClosedDays, close_days, closures_ahead
from households.models import Building, Closure
from households.tenancy import inside
from tests.bins.duties.planned import kind
from tests.cast import NOW, Cast

from .slotted import book_in, slot_in

pytestmark = pytest.mark.embedded

DAY = dt.timedelta(days=1)


def days(first: str, last: str, *, is_yearly: bool = True) -> Closure:
    return Closure(first_day=dt.date.fromisoformat(first), last_day=dt.date.fromisoformat(last), is_yearly=is_yearly)


@pytest.mark.parametrize(
    ("closure", "closed", "open_"),
    [
        # Before, at and after each end, this year and the next; and the year before it began.
        (
            days("2026-12-24", "2026-12-26"),
            ["2026-12-24", "2026-12-26", "2027-12-24", "2027-12-25", "2031-12-26"],
            ["2025-12-25", "2026-12-23", "2026-12-27", "2027-12-23", "2027-12-27"],
        ),
        (days("2026-12-24", "2026-12-26", is_yearly=False), ["2026-12-25"], ["2027-12-25"]),
        # Over New Year.
        (
            days("2026-12-30", "2027-01-02"),
            ["2026-12-30", "2027-01-02", "2027-12-31", "2028-01-01", "2028-01-02"],
            ["2026-01-01", "2026-12-29", "2027-01-03", "2027-12-29", "2028-01-03"],
        ),
        # 29 February: in years that have it.
        (days("2028-02-29", "2028-02-29"), ["2028-02-29", "2032-02-29"], ["2029-02-28", "2029-03-01", "2032-02-28"]),
        (
            days("2028-02-28", "2028-03-01"),
            ["2028-02-29", "2029-02-28", "2029-03-01", "2032-02-29"],
            ["2029-02-27", "2029-03-02"],
        ),
        # All the year but one day.
        (days("2026-03-02", "2027-02-28"), ["2027-03-02", "2028-02-28", "2029-02-28"], ["2028-02-29", "2028-03-01"]),
    ],
)
def test_what_returns_goes_by_month_and_day(closure: Closure, closed: list[str], open_: list[str]) -> None:
    assert {day: closure.covers(dt.date.fromisoformat(day)) for day in [*closed, *open_]} == {
        **dict.fromkeys(closed, True),
        **dict.fromkeys(open_, False),
    }


def close(here: Building, cast: Cast, first: str, last: str, *, each_year: bool = True) -> Closure:
    raw = {"uid": uuid4(), "first_day": first, "last_day": last, "words": "holidays", "each_year": each_year}
    return close_days(building=here, site=cast.drum.site, told=ClosedDays.from_raw(raw), person=None, now=NOW)


def test_up_to_a_year_less_a_day_may_return(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        close(here, cast, "2026-06-01", "2027-05-31")
        with pytest.raises(Refused) as refused:
            close(here, cast, "2026-06-01", "2027-06-01")
        assert [*refused.value.errors] == ["last_day"]
        close(here, cast, "2026-06-01", "2027-06-01", each_year=False)


def test_days_that_return_may_have_begun_in_the_past_and_others_may_not(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        close(here, cast, "2020-05-05", "2020-05-05")
        with pytest.raises(Refused):
            close(here, cast, "2020-05-05", "2020-05-05", each_year=False)
        assert [row.first_day.year for row in closures_ahead(here, NOW.date())] == [2020]


def test_times_and_openings_are_taken_out_each_year_and_who_is_booked_is_told(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        row = book_in(here, slot, cast.resident)
        kind(here, cast.drum.site, usual=1)
        kind(here, cast.drum.site, "opening", usual=1)
        close(here, cast, "2024-05-05", "2024-05-09")
        row.refresh_from_db()
        assert (row.state, row.cause) == ("cancelled", "closure")
        ahead = occurrences(here, NOW.date(), NOW.date() + 9 * DAY, NOW)
        assert [(f"{one.day:%m-%d}", one.out) for one in ahead] == [
            ("05-05", "closure"),
            ("05-09", "closure"),
            ("05-12", ""),
        ]
        found = gather(here, cast.drum.site, NOW.date() + DAY, NOW.date() + 6 * DAY, NOW).occurrences.values()
        assert [f"{one.day:%m-%d}" for one in found if one.kind.work == "opening"] == ["05-10"]
        assert len([one for one in found if one.kind.work == "turning"]) == 6
