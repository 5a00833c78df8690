"""What a shut hatch, closed days or another drum mean for those who are booked, and that they hear it once."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.care.fullness import tell_residents
from bins.decisions.site_numbers import SiteNumbers, set_numbers
from bins.models import Assignment, Drum
from bins.records import Refused
from bins.slots.ahead import occurrences
from bins.slots.closures import ClosedDays, close_days
from bins.slots.moving import settle_slots
from bins.slots.slots import Hours, change_hours, end_slot
from households.ledger import open_ledger
from households.models import Booking, Building, IntakePause, Notice, Person, Reminder, Site
from households.tenancy import inside
from tests.cast import NOW, Cast

from .slotted import SATURDAY, TUESDAY, book_in, home, open_again, shut, slot_in

pytestmark = pytest.mark.embedded
NIGHT = dt.datetime(2026, 5, 5, 1, 0, tzinfo=dt.UTC)  # three in the morning in Berlin
SEVEN = dt.datetime(2026, 5, 5, 5, 0, tzinfo=dt.UTC)


def settle(here: Building, now: dt.datetime = NOW) -> None:
    with open_ledger(here) as ledger:
        settle_slots(ledger.building, now)


def news(here: Building) -> list[tuple[str, Any, dt.datetime]]:
    rows = Reminder.objects.within(here).exclude(kind="slot").order_by("pk")
    return [(row.kind, row.figures, row.due_at) for row in rows]


def again(row: Booking) -> Booking:
    row.refresh_from_db()
    return row


def test_while_the_drum_takes_nothing_the_next_seven_days_are_off_and_stand_again_after(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        near, far = (book_in(here, slot, cast.resident, day) for day in (SATURDAY, TUESDAY))
        late = book_in(here, slot, cast.resident, dt.date(2026, 5, 12))
        shut(here, cast)
        settle(here)
        settle(here)  # changes nothing, tells nothing
        assert [again(row).state for row in (far, near, late)] == ["off", "off", "kept"]
        fallback = {"fallback": "the brown bin by the gate"}
        assert news(here) == [("off", fallback, NOW), ("off", fallback, NOW)]
        assert not Reminder.objects.within(here).filter(kind="slot", about=near.uid).exists()
        Reminder.objects.within(here).filter(kind="off").update(sent_at=NOW)
        open_again(here, cast)
        settle(here, NOW + dt.timedelta(hours=1))
        assert (again(near).state, near.place, near.sequence) == ("kept", 1, 2)
        assert [kind for kind, _figures, _due in news(here)] == ["off", "off", "again", "again"]
        assert Reminder.objects.within(here).filter(kind="slot", about=near.uid).count() == 1, "it stands: say so again"


def test_seven_days_ahead_to_the_minute(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = book_in(here, slot_in(here, cast), cast.resident, SATURDAY)
        shut(here, cast)
        settle(here, row.begins_at - dt.timedelta(days=7, seconds=1))
        assert again(row).state == "kept"
        settle(here, row.begins_at - dt.timedelta(days=7))
        assert again(row).state == "off"


def test_news_of_the_night_waits_for_seven_and_is_taken_back_where_it_turns_round(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = book_in(here, slot_in(here, cast), cast.resident, SATURDAY)
        shut(here, cast)
        settle(here, NIGHT)
        assert [(kind, due) for kind, _figures, due in news(here)] == [("off", SEVEN)]
        open_again(here, cast)
        settle(here, NIGHT + dt.timedelta(hours=1))
        assert (again(row).state, news(here)) == ("kept", [])


def test_whoever_hears_of_the_own_slot_is_not_written_to_a_second_time_about_the_place(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        book_in(here, slot_in(here, cast), cast.resident, SATURDAY)
        shut(here, cast)
        with open_ledger(here) as ledger:
            tell_residents(ledger, cast.drum.site, NOW)
        told = Notice.objects.filter(building=here, kind__startswith="full")
        assert [notice.to for notice in told] == ["sorin@quince-court.invalid"]
        assert [kind for kind, _figures, _due in news(here)] == ["off"]


def test_who_wants_no_reminders_still_hears_that_the_place_is_full(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        book_in(here, slot_in(here, cast), cast.resident, SATURDAY)
        Person.objects.within(here).filter(pk=cast.resident.pk).update(channel="none")
        shut(here, cast)
        with open_ledger(here) as ledger:
            tell_residents(ledger, cast.drum.site, NOW)
        assert Notice.objects.filter(building=here, kind__startswith="full").count() == 2


def test_closed_days_cancel_what_was_booked_and_say_why(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        row, other = book_in(here, slot, cast.resident, SATURDAY), book_in(here, slot, cast.neighbour, TUESDAY)
        told = ClosedDays.from_raw({"uid": str(uuid4()), "first_day": "2026-05-09", "words": "Yard fair"})
        close_days(building=here, site=cast.drum.site, told=told, person=None, now=NOW)
        assert [(again(one).state, one.cause, one.sequence) for one in (row, other)] == [
            ("cancelled", "closure", 1), ("kept", "", 0),
        ]  # fmt: skip
        assert news(here) == [("gone", {"cause": "closure", "words": "Yard fair", "place": "Courtyard"}, NOW)]


def test_an_ended_slot_cancels_what_comes_after_its_last_day(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        row = book_in(here, slot, cast.resident, TUESDAY)
        end_slot(building=here, slot=slot, person=None, now=NOW)
        assert (again(row).cause, news(here)[0][0]) == ("slot", "gone")


def test_a_place_that_is_open_at_any_time_again_has_no_set_times_to_come_at(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = book_in(here, slot_in(here, cast), cast.resident, SATURDAY)
        Site.objects.within(here).update(opening="open")
        settle(here)
        assert (again(row).cause, news(here)[0][0]) == ("slot", "gone")


def test_a_new_hour_moves_who_is_booked_and_raises_the_number_for_calendars(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        row = book_in(here, slot, cast.resident, SATURDAY)
        told = Hours.from_raw({"begins_at": "19:00", "minutes": 60, "households": 2})
        change_hours(building=here, slot=slot, told=told, person=None, now=NOW)
        assert (again(row).begins_at, row.sequence) == (dt.datetime(2026, 5, 9, 17, 0, tzinfo=dt.UTC), 1)
        assert news(here) == [("moved", {"was": "2026-05-09T16:00:00+00:00"}, NOW)]
        change_hours(building=here, slot=slot, told=told, person=None, now=NOW)
        wider = Hours.from_raw({"begins_at": "19:00", "minutes": 60, "households": 5})
        change_hours(building=here, slot=slot, told=wider, person=None, now=NOW)
        assert again(row).sequence == 1, "more room is no news"


def test_a_household_lent_to_another_drum_moves_along_to_a_free_place_there(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        second = Drum.objects.create(building=here, site=cast.drum.site, number=2)
        row, other = book_in(here, slot, cast.resident, SATURDAY), book_in(here, slot, cast.neighbour, SATURDAY)
        Assignment.objects.within(here).filter(household=home(cast.neighbour)).update(drum=second)
        settle(here)
        assert [(again(one).lane, one.place, one.state) for one in (row, other)] == [(1, 1, "kept"), (2, 1, "off")]
        assert [(kind, figures.get("drum")) for kind, figures, _due in news(here)] == [("moved", 2), ("off", None)]


def test_winter_takes_out_what_was_booked_for_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, rests_in_winter="yes")
        row, before = book_in(here, slot, cast.resident, SATURDAY), book_in(here, slot, cast.resident, TUESDAY)
        told = SiteNumbers.from_raw({"winter_first": "05-09", "spring_first": "05-16"})
        set_numbers(building=here, site_uid=cast.drum.site.uid, told=told, person=None, now=NOW)
        settle(here)
        assert [(again(one).state, one.cause) for one in (row, before)] == [("cancelled", "winter"), ("kept", "")]
        assert news(here) == [("gone", {"cause": "winter", "words": "", "place": "Courtyard"}, NOW)]


def test_from_the_day_on_which_nobody_looks_after_the_place_times_are_off(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        IntakePause.objects.create(building=here, site=cast.drum.site, told_on=NOW.date(), first_on=SATURDAY)
        assert [one.free for one in occurrences(here, TUESDAY, SATURDAY, NOW)] == [2, 0]
        row = book_in(here, slot, cast.resident, TUESDAY)
        with pytest.raises(Refused, match="takes nothing"):
            book_in(here, slot, cast.resident, SATURDAY)
        IntakePause.objects.within(here).update(told_on=NOW.date() - dt.timedelta(days=7), first_on=TUESDAY)
        settle(here)
        assert again(row).state == "off"
        IntakePause.objects.within(here).update(ended_on=TUESDAY)
        settle(here)
        assert (again(row).state, news(here)) == ("kept", [])


def test_looking_at_more_bookings_that_stand_takes_no_more_queries(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households=9)
        book_in(here, slot, cast.resident, TUESDAY)
        with CaptureQueriesContext(connection) as few:
            settle(here)
        for person, days in ((cast.resident, (4, 7, 11)), (cast.neighbour, (0, 4, 7, 11))):
            for day in days:
                book_in(here, slot, person, TUESDAY + dt.timedelta(days=day))
        with CaptureQueriesContext(connection) as many:
            settle(here)
        assert len(many) == len(few)
