"""What is ahead: each occurrence with its room, closed days and winter taken out."""

import datetime as dt
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.care.visit import CareVisit, record_visit
from bins.decisions.site_numbers import SiteNumbers, set_numbers
from bins.intake.dropoff import DropOff, record_drop_off
from bins.records import Refused
from bins.slots.ahead import Occurrence, occurrences
from bins.slots.closures import ClosedDays, close_days, open_days
from bins.slots.slots import Hours, NewSlot, add_slot, change_hours, end_slot
from households.models import Building, Closure, Site
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer

from .slotted import SATURDAY, TUESDAY, book_in, shut, slot_in

pytestmark = pytest.mark.embedded
SUNDAY_FORTNIGHT = dt.date(2026, 5, 17)


def ahead(here: Building, last: dt.date = SUNDAY_FORTNIGHT, now: dt.datetime = NOW) -> tuple[Occurrence, ...]:
    return occurrences(here, here.local(now).date(), last, now)


def days_out(found: tuple[Occurrence, ...]) -> list[tuple[str, str]]:
    return [(f"{one.day:%m-%d}", one.out) for one in found]


def close(here: Building, cast: Cast, first: str, last: str, words: str = "The yard is paved") -> Closure:
    told = ClosedDays.from_raw({"uid": str(uuid4()), "first_day": first, "last_day": last, "words": words})
    return close_days(building=here, site=cast.drum.site, told=told, person=None, now=NOW)


def test_a_site_without_set_times_has_nothing_ahead(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert ahead(here) == ()
        slot_in(here, cast)
        assert Site.objects.within(here).get().opening == "slots", "the first set time makes it a site with set times"
        assert days_out(ahead(here)) == [("05-05", ""), ("05-09", ""), ("05-12", ""), ("05-16", "")]


def test_the_open_chamber_gives_the_room_where_the_caretaker_names_none(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot_in(here, cast, households="")
        # Both chambers empty: 2 x 75 L settled, 300 L as brought; a pail of 8 L with 2 cups of 1 L: 30 pails. Eight
        # occurrences in 28 days: 4 each; but a fifth of 100 L at one time are 2.
        (lane,) = ahead(here)[0].lanes
        assert (lane.room.households, lane.room.quarter_pails, lane.free, lane.left_quarters) == (2, 8, 2, 120)
        at = NOW + dt.timedelta(hours=1)
        told = CareVisit.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": True, "level": "half"})
        record_visit(building=here, told=told, person=None, via="web", now=at)
        # Half of A: 25 L + 75 L settled are 20 pails.
        (lane,) = ahead(here, now=at)[0].lanes
        assert lane.left_quarters == 80
        pail = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4, "browns_cups": 2})
        later = at + dt.timedelta(hours=1)
        record_drop_off(building=here, told=pail, household=None, person=None, via="web", now=later)
        (lane,) = ahead(here, now=later)[0].lanes
        assert lane.left_quarters == 76, "what came since the level was read takes its room"


def test_free_places_fall_with_each_booking_and_not_with_what_is_cancelled_elsewhere(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households=2)
        book_in(here, slot, cast.resident)
        assert [one.free for one in ahead(here)] == [1, 2, 2, 2]


def test_who_is_booked_ahead_takes_from_what_the_drum_has_left(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households="")
        book_in(here, slot, cast.resident, SATURDAY)
        assert {lane.left_quarters for one in ahead(here) for lane in one.lanes} == {116}


def test_closed_days_take_occurrences_out_with_their_words_both_ends_counted(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        closure = close(here, cast, "2026-05-09", "2026-05-12")
        found = ahead(here)
        assert days_out(found) == [("05-05", ""), ("05-09", "closure"), ("05-12", "closure"), ("05-16", "")]
        assert (found[1].words, found[1].free, found[0].free) == ("The yard is paved", 0, 2)
        with pytest.raises(Refused, match="closed"):
            book_in(here, slot, cast.resident, SATURDAY)
        open_days(building=here, closure=closure, person=None, now=NOW)
        open_days(building=here, closure=closure, person=None, now=NOW)
        assert {one.out for one in ahead(here)} == {""}


def test_closed_days_arrive_once_and_not_for_what_is_over(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        told = ClosedDays.from_raw({"uid": str(uuid4()), "first_day": "2026-05-09", "words": "Holiday"})
        site = cast.drum.site
        first = close_days(building=here, site=site, told=told, person=None, now=NOW)
        assert close_days(building=here, site=site, told=told, person=None, now=NOW).pk == first.pk
        assert first.last_day == SATURDAY
        assert close(here, cast, "2026-05-04", "2026-05-04")
        with pytest.raises(Refused, match="over"):
            close(here, cast, "2026-05-01", "2026-05-03")
        with pytest.raises(Refused, match="after the first"):
            close(here, cast, "2026-05-09", "2026-05-08")


def test_a_slot_that_rests_in_winter_does_and_another_does_not(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot_in(here, cast, rests_in_winter="yes")
        slot_in(here, cast, begins_at="10:00")
        told = SiteNumbers.from_raw({"winter_first": "05-10", "spring_first": "05-16"})
        set_numbers(building=here, site_uid=cast.drum.site.uid, told=told, person=None, now=NOW)
        rests = [one for one in ahead(here) if one.slot.rests_in_winter]
        assert days_out(tuple(rests)) == [("05-05", ""), ("05-09", ""), ("05-12", "winter"), ("05-16", "")]
        assert {one.out for one in ahead(here) if not one.slot.rests_in_winter} == {""}


def test_nothing_is_free_while_no_hatch_is_open(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot_in(here, cast)
        shut(here, cast)
        assert [(one.is_off, one.free) for one in ahead(here)] == [(True, 0)] * 4


def test_a_slot_ends_after_its_last_day_and_a_new_hour_counts_from_now_on(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        hours = Hours.from_raw({"begins_at": "19:30", "minutes": 30, "households": 3})
        changed = change_hours(building=here, slot=slot, told=hours, person=None, now=NOW)
        assert ahead(here)[0].begins_at == dt.datetime(2026, 5, 5, 17, 30, tzinfo=dt.UTC)
        evening = dt.datetime(2026, 5, 5, 10, 0, tzinfo=dt.UTC)
        end_slot(building=here, slot=changed, person=None, now=evening)
        end_slot(building=here, slot=changed, person=None, now=evening + dt.timedelta(days=3))
        assert days_out(ahead(here, now=evening)) == [("05-05", "")]


def test_a_slot_begins_today_or_within_a_year_and_arrives_once(cast: Cast) -> None:
    raw = {"uid": str(uuid4()), "weekdays": ["TU", "SA"], "every": "2", "begins_at": "18:00", "starts_on": "2026-05-03"}
    with inside(cast.building.uid) as here:
        with pytest.raises(Refused, match="today or within a year"):
            add_slot(building=here, site=cast.drum.site, told=NewSlot.from_raw(raw), person=None, now=NOW)
        told = NewSlot.from_raw(raw | {"starts_on": "2026-05-04"})
        slot = add_slot(building=here, site=cast.drum.site, told=told, person=None, now=NOW)
        assert slot.rule == "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SA"
        assert add_slot(building=here, site=cast.drum.site, told=told, person=None, now=NOW).pk == slot.pk


def test_all_faults_of_a_slot_are_named_at_once() -> None:
    with pytest.raises(Refused) as refused:
        NewSlot.from_raw({"uid": "x", "rule": "FREQ=HOURLY", "begins_at": "late", "minutes": "4", "households": "0"})
    assert set(refused.value.errors) == {"uid", "rule", "begins_at", "minutes", "households"}
    with pytest.raises(Refused) as refused:
        NewSlot.from_raw({"uid": str(uuid4()), "begins_at": "18:00"})
    assert set(refused.value.errors) == {"weekdays"}


def test_the_number_of_queries_does_not_grow_with_slots_days_and_bookings(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households=9)
        with CaptureQueriesContext(connection) as few:
            assert len(occurrences(here, TUESDAY, TUESDAY, NOW)) == 1
        for number in range(8):
            person = newcomer(cast.building, f"Wim{number}", f"Flat {20 + number}", "resident")
            book_in(here, slot, person)
        slot_in(here, cast, begins_at="10:00")
        close(here, cast, "2026-05-12", "2026-05-12")
        with CaptureQueriesContext(connection) as many:
            assert len(occurrences(here, TUESDAY, SUNDAY_FORTNIGHT, NOW)) == 8
        assert len(many) == len(few)
