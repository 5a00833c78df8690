"""A household is away: a plain "cannot", its own, and gone 30 days after it ended. And what it wishes for."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.people.moving_out import Leaving, move_out
from bins.records import Refused
from bins.slots.absences import Away, absences_of, note_absence, withdraw_absence
from bins.slots.contact import new_feed
from bins.slots.wishes import Wishes, set_wishes, wishes_of
from coordinator.jobs.run import run_due
from households.ledger import UidReused
from households.models import Absence, Booking, FeedKey, Notice, Person, Reminder, Wish
from households.tenancy import inside
from tests.cast import NOW, Cast
from tests.filled import go_outside

from .slotted import SATURDAY, TUESDAY, book_in, home, slot_in

pytestmark = pytest.mark.embedded


def away(first: str, last: str, uid: str = "") -> Away:
    return Away.from_raw({"uid": uid or str(uuid4()), "first_day": first, "last_day": last})


def test_its_bookings_of_those_days_are_free_for_others_both_ends_counted(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        days = [TUESDAY, SATURDAY, dt.date(2026, 5, 12), dt.date(2026, 5, 16)]
        rows = [book_in(here, slot, cast.resident, day) for day in days]
        other = book_in(here, slot, cast.neighbour, SATURDAY)
        told = away("2026-05-09", "2026-05-12")
        noted = note_absence(building=here, household=home(cast.resident), told=told, now=NOW)
        again = note_absence(building=here, household=home(cast.resident), told=told, now=NOW)
        assert (noted.freed, noted.is_new, again.is_new, again.row.pk == noted.row.pk) == (2, True, False, True)
        for row in (*rows, other):
            row.refresh_from_db()
        assert [row.state for row in rows] == ["kept", "cancelled", "cancelled", "kept"]
        assert other.state == "kept"
        withdraw_absence(building=here, row=noted.row)
        withdraw_absence(building=here, row=noted.row)
        assert absences_of(here, home(cast.resident), NOW.date()) == []


def test_an_absence_is_kept_apart_by_household_and_arrives_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        uid = str(uuid4())
        note_absence(building=here, household=home(cast.resident), told=away("2026-05-09", "2026-05-12", uid), now=NOW)
        assert absences_of(here, home(cast.neighbour), NOW.date()) == []
        with pytest.raises(UidReused):
            note_absence(
                building=here, household=home(cast.neighbour), told=away("2026-05-09", "2026-05-12", uid), now=NOW
            )
        with pytest.raises(Refused, match="over"):
            note_absence(building=here, household=home(cast.resident), told=away("2026-05-01", "2026-05-03"), now=NOW)
        assert note_absence(
            building=here, household=home(cast.resident), told=away("2026-05-01", "2026-05-04"), now=NOW
        ).is_new, "today is not over"
    with pytest.raises(Refused) as refused:
        Away.from_raw({"uid": "x", "last_day": "soon"})
    assert set(refused.value.errors) == {"uid", "first_day", "last_day"}


def test_thirty_days_after_it_ended_an_absence_is_gone_and_so_are_bookings_and_what_was_said(
    cast_in_the_open: Cast,
) -> None:
    cast = cast_in_the_open
    with inside(cast.building.uid) as here:
        book_in(here, slot_in(here, cast), cast.resident, SATURDAY)
        told = away("2026-05-11", "2026-05-20")
        note_absence(building=here, household=home(cast.resident), told=told, now=NOW)
    go_outside()
    left = []
    # Tidied at 03:30 in Berlin, 01:30 UTC: 30 whole days after 9 May and after 20 May.
    for at in ("2026-06-08T01:30", "2026-06-09T01:29", "2026-06-09T01:30", "2026-06-19T01:30", "2026-06-20T01:30"):
        run_due(dt.datetime.fromisoformat(at + ":00+00:00"))
        with inside(cast.building.uid) as here:
            models = (Booking, Reminder, Absence)
            left.append(tuple(model.objects.within(here).count() for model in models))
        go_outside()
    assert left == [(1, 1, 1), (1, 1, 1), (0, 0, 1), (0, 0, 1), (0, 0, 0)]


def test_who_moved_out_leaves_no_plans_behind(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        book_in(here, slot, cast.resident, SATURDAY)
        told = away("2026-05-20", "2026-05-21")
        note_absence(building=here, household=home(cast.resident), told=told, now=NOW)
        wish = Wishes.from_raw({f"wish-{slot.uid}": "prefer", "visits_in_four_weeks": "4"})
        set_wishes(building=here, household=home(cast.resident), told=wish, now=NOW)
        new_feed(building=here, person=cast.resident, now=NOW)
        Person.objects.within(here).filter(pk=cast.resident.pk).update(channel="sms", phone="+491511234567")
        Notice.post(building=here, channel="sms", kind="reminder", to="+491511234567", subject="", body="b", due_at=NOW)
        leaving = Leaving.from_raw({"uid": str(uuid4()), "last_day": "2026-05-04", "share": "garden", "sure": "yes"})
        move_out(building=here, household=home(cast.resident), told=leaving, person=None, via="web", now=NOW)
        for model in (Booking, Absence, Wish, Reminder, FeedKey):
            assert not model.objects.within(here).exists(), model
        assert not Notice.objects.filter(building=here, to="+491511234567").exists()


def test_a_wish_stands_once_for_each_thing_and_what_is_not_named_stays(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        one, two = slot_in(here, cast), slot_in(here, cast, begins_at="10:00")
        for raw in ({f"wish-{one.uid}": "cannot", f"wish-{two.uid}": "prefer"}, {f"wish-{one.uid}": "can"}):
            set_wishes(building=here, household=home(cast.resident), told=Wishes.from_raw(raw), now=NOW)
        asked = {row.thing.uid: row.answer for row in wishes_of(here, home(cast.resident), NOW.date())}
        assert asked == {one.uid: "can", two.uid: "prefer"}
        assert Wish.objects.within(here).count() == 2
        others = wishes_of(here, home(cast.neighbour), NOW.date())
        assert {row.answer for row in others} == {"can"}, "nobody has said otherwise"
    with pytest.raises(Refused):
        Wishes.from_raw({f"wish-{one.uid}": "perhaps"})
    with pytest.raises(Refused):
        Wishes.from_raw({"visits_in_four_weeks": "29"})
