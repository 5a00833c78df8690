"""Booking a place at a set time: a promise of room, given once, up to the last place."""

import datetime as dt
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Drum
from bins.people.moving_out import Leaving, move_out
from bins.records import Refused
from bins.slots.booking import WantsSlot, book, cancel, of_household
from households.ledger import UidReused
from households.models import Booking, Reminder
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer

from .slotted import SATURDAY, TUESDAY, book_in, home, slot_in

pytestmark = pytest.mark.embedded

SIX = dt.datetime(2026, 5, 5, 16, 0, tzinfo=dt.UTC)  # six in the evening in Berlin


def test_a_household_gets_the_first_free_place_and_is_reminded_at_five_the_day_before(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        row = book_in(here, slot, cast.resident, SATURDAY)
        assert (row.place, row.lane, row.begins_at, row.ends_at) == (
            1, 1, dt.datetime(2026, 5, 9, 16, 0, tzinfo=dt.UTC), dt.datetime(2026, 5, 9, 17, 0, tzinfo=dt.UTC),
        )  # fmt: skip
        reminder = Reminder.objects.within(here).get()
        assert (reminder.kind, reminder.due_at) == ("slot", dt.datetime(2026, 5, 8, 15, 0, tzinfo=dt.UTC))
        assert [one.pk for one in of_household(here, home(cast.resident), NOW)] == [row.pk]
        assert of_household(here, home(cast.neighbour), NOW) == []


def test_the_same_uid_twice_is_one_booking_and_with_other_values_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot, uid = slot_in(here, cast), uuid4()
        told = WantsSlot.from_raw({"uid": str(uid), "slot": str(slot.uid), "day": "2026-05-05"})
        first = book(building=here, told=told, household=home(cast.resident), now=NOW)
        again = book(building=here, told=told, household=home(cast.resident), now=NOW)
        assert (first.is_new, again.is_new, first.row.pk == again.row.pk) == (True, False, True)
        with pytest.raises(UidReused):
            book_in(here, slot, cast.resident, SATURDAY, uid=uid)
        with pytest.raises(UidReused):
            book(building=here, told=told, household=home(cast.neighbour), now=NOW)
        assert Booking.objects.within(here).count() == 1


def test_the_last_place_goes_once_and_is_free_again_when_it_is_cancelled(cast: Cast) -> None:
    third = newcomer(cast.building, "Wim", "Flat 7", "resident")
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households=2)
        one = book_in(here, slot, cast.resident)
        assert book_in(here, slot, cast.neighbour).place == 2
        with pytest.raises(Refused, match="last place is gone"):
            book_in(here, slot, third)
        assert cancel(building=here, row=one, now=NOW).state == "cancelled"
        assert cancel(building=here, row=one, now=NOW).sequence == 1, "twice gives the same answer"
        assert not Reminder.objects.within(here).filter(about=one.uid).exists()
        assert book_in(here, slot, third).place == 1


def test_the_database_itself_refuses_a_place_that_is_taken(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = book_in(here, slot_in(here, cast), cast.resident)
        row.pk, row.uid, row.household = None, uuid4(), home(cast.neighbour)
        with pytest.raises(IntegrityError), transaction.atomic():
            row.save(force_insert=True)


def test_a_household_is_down_for_one_time_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        book_in(here, slot, cast.resident)
        with pytest.raises(Refused, match="already"):
            book_in(here, slot, cast.resident, uid=uuid4())


def test_a_time_is_open_to_booking_until_it_begins_and_four_weeks_ahead(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        for now, refused in ((SIX - dt.timedelta(seconds=1), False), (SIX, True)):
            if refused:
                with pytest.raises(Refused, match="not on the list"):
                    book_in(here, slot, cast.neighbour, now=now)
            else:
                book_in(here, slot, cast.resident, now=now)
        with pytest.raises(Refused, match="not on the list"):
            book_in(here, slot, cast.resident, TUESDAY + dt.timedelta(days=1))  # a Wednesday
        # 28 days from Monday 4 May is Monday 1 June.
        assert book_in(here, slot, cast.resident, dt.date(2026, 5, 30)).place == 1
        with pytest.raises(Refused, match="not on the list"):
            book_in(here, slot, cast.resident, dt.date(2026, 6, 2))


def test_nobody_takes_back_what_has_begun(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = book_in(here, slot_in(here, cast), cast.resident)
        with pytest.raises(Refused, match="has begun"):
            cancel(building=here, row=row, now=SIX)
        assert cancel(building=here, row=row, now=SIX - dt.timedelta(seconds=1)).cause == "household"


def test_who_booked_since_five_the_day_before_is_not_reminded_of_what_they_know(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        book_in(here, slot_in(here, cast), cast.resident)  # at six, for tomorrow
        assert not Reminder.objects.within(here).exists()


def test_a_drop_off_outside_its_time_is_taken_and_counts_like_any_other(cast: Cast) -> None:
    """A slot is a promise of room, not a permission."""
    with inside(cast.building.uid) as here:
        book_in(here, slot_in(here, cast), cast.resident)
        for person, at in ((cast.resident, NOW), (cast.neighbour, NOW), (cast.resident, SIX)):
            told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4})
            row = record_drop_off(
                building=here, told=told, household=person.household, person=person, via="web", now=at
            ).row
            assert (row.quarter_pails, row.batch is not None) == (4, True)


def test_a_household_with_its_drum_at_another_place_has_no_lane_here(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        home(cast.resident).assignment.delete()
        with pytest.raises(Refused, match="another place"):
            book_in(here, slot, cast.resident)
        assert Drum.objects.within(here).count() == 1


def test_more_pails_than_there_is_room_for_are_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households=2, pails=2)
        told = WantsSlot(uuid4(), slot.uid, TUESDAY, 12)
        with pytest.raises(Refused, match="fewer pails"):
            book(building=here, told=told, household=home(cast.resident), now=NOW)


def test_who_moves_out_gives_up_the_times_after_the_last_day(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        stays, goes = book_in(here, slot, cast.resident, TUESDAY), book_in(here, slot, cast.resident, SATURDAY)
        told = Leaving.from_raw({"uid": str(uuid4()), "last_day": "2026-05-07", "share": "garden", "sure": "yes"})
        move_out(building=here, household=home(cast.resident), told=told, person=None, via="web", now=NOW)
        stays.refresh_from_db()
        goes.refresh_from_db()
        assert (stays.state, goes.state) == ("kept", "cancelled")
