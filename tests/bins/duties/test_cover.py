"""Cover: one duty on one day; no name until somebody accepts; of two, one wins."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.duties.cover import CoverAnswer, CoverAsked, answer, ask, open_covers, own_covers
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building, Cover, Duty, Notice, Person
from households.tenancy import inside
from tests.cast import NOW, Cast

from .planned import DAY, TODAY, duty, home, kind, site_of, who

pytestmark = pytest.mark.embedded


def asked(here: Building, row: Duty, person: Person, now: dt.datetime = NOW) -> Cover:
    told = CoverAsked.from_raw({"uid": uuid4(), "duty": row.uid})
    return ask(building=here, household=home(person), told=told, now=now)


def answered(here: Building, cover: Cover, person: Person, now: dt.datetime = NOW, **raw: object) -> Cover:
    told = CoverAnswer.from_raw({"answer": "take"} | raw)
    return answer(building=here, cover_uid=cover.uid, household=home(person), told=told, now=now)


def letters(here: Building) -> list[tuple[str, str]]:
    return list(Notice.objects.filter(building=here).order_by("pk").values_list("kind", "body"))


def test_until_somebody_takes_it_the_duty_stays_and_no_name_is_told(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY + DAY, cast.resident)
        asked(here, row, cast.resident)
        assert (who(row), letters(here)) == (["Flat 3"], [])
        assert open_covers(here, site_of(cast), home(cast.resident), NOW) == []
        (seen,) = open_covers(here, site_of(cast), home(cast.neighbour), NOW)
        assert seen.duty == row


def test_whoever_takes_it_stands_in_the_plan_and_the_asker_hears_the_first_name(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY + DAY, cast.resident)
        cover = asked(here, row, cast.resident)
        answered(here, cover, cast.neighbour)
        answered(here, cover, cast.neighbour, NOW + DAY / 24)  # pressed twice
        assert who(row) == ["Flat 5"]
        assert letters(here) == [("cover-taken", "Sorin does your duty on May 5, 2026.")]
        assert open_covers(here, site_of(cast), home(cast.neighbour), NOW) == []


def test_the_same_request_again_is_the_one_that_stands_and_a_second_one_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast))
        row, other = (
            duty(here, turning, TODAY + DAY, cast.resident),
            duty(here, turning, TODAY + 2 * DAY, cast.resident),
        )
        told = CoverAsked.from_raw({"uid": uuid4(), "duty": row.uid})
        first = ask(building=here, household=home(cast.resident), told=told, now=NOW)
        assert ask(building=here, household=home(cast.resident), told=told, now=NOW).pk == first.pk
        with pytest.raises(UidReused):
            ask(building=here, household=home(cast.resident), told=CoverAsked(told.uid, other.uid), now=NOW)
        with pytest.raises(Refused):
            asked(here, row, cast.resident)
        with pytest.raises(Refused):
            asked(here, row, cast.neighbour)  # not a duty of theirs


def test_asked_again_after_it_was_withdrawn_it_is_a_new_request(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY + DAY, cast.resident)
        first = asked(here, row, cast.resident)
        with pytest.raises(Cover.DoesNotExist):
            answered(here, first, cast.neighbour, answer="withdraw")
        answered(here, first, cast.resident, answer="withdraw")
        with pytest.raises(Refused):
            answered(here, first, cast.neighbour)
        second = asked(here, row, cast.resident)
        assert own_covers(here, home(cast.resident), NOW) == [second]


def test_a_household_that_is_on_the_duty_already_cannot_take_a_second_place(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY + DAY, cast.resident, cast.neighbour)
        cover = asked(here, row, cast.resident)
        assert open_covers(here, site_of(cast), home(cast.neighbour), NOW) == []
        for person in (cast.neighbour, cast.resident):
            with pytest.raises(Refused):
                answered(here, cover, person)
        assert who(row) == ["Flat 3", "Flat 5"]


def test_a_swap_waits_for_the_yes_of_who_asked_and_then_both_change(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast))
        theirs, mine = (
            duty(here, turning, TODAY + DAY, cast.resident),
            duty(here, turning, TODAY + 3 * DAY, cast.neighbour),
        )
        cover = asked(here, theirs, cast.resident)
        answered(here, cover, cast.neighbour, answer="offer", duty=mine.uid)
        assert (who(theirs), who(mine)) == (["Flat 3"], ["Flat 5"])
        assert "Sorin" not in letters(here)[0][1]
        (offer,) = own_covers(here, home(cast.resident), NOW)[0].offers.all()
        with pytest.raises(Cover.DoesNotExist):
            answered(here, cover, cast.neighbour, answer="accept", offer=offer.uid)
        answered(here, cover, cast.resident, answer="accept", offer=offer.uid)
        assert (who(theirs), who(mine)) == (["Flat 5"], ["Flat 3"])


def test_an_offer_whose_duty_was_given_away_no_longer_stands(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast))
        theirs, mine = (
            duty(here, turning, TODAY + DAY, cast.resident),
            duty(here, turning, TODAY + 3 * DAY, cast.neighbour),
        )
        cover = asked(here, theirs, cast.resident)
        answered(here, cover, cast.neighbour, answer="offer", duty=mine.uid)
        (offer,) = own_covers(here, home(cast.resident), NOW)[0].offers.all()
        mine.assignments.all().delete()
        with pytest.raises(Refused):
            answered(here, cover, cast.resident, answer="accept", offer=offer.uid)
        assert who(theirs) == ["Flat 3"]


def test_cover_can_be_taken_until_the_day_is_over_or_the_opening_begins(cast: Cast) -> None:
    """Berlin's 4 May ends at 22:00 UTC; the opening begins at 20:00, 18:00 UTC."""
    day_over = dt.datetime(2026, 5, 4, 22, 0, tzinfo=dt.UTC)
    begun = dt.datetime(2026, 5, 4, 18, 0, tzinfo=dt.UTC)
    second = dt.timedelta(seconds=1)
    with inside(cast.building.uid) as here:
        for work, end in (("turning", day_over), ("opening", begun)):
            more = {"begins_at": "20:00"} if work == "opening" else {}
            row = duty(here, kind(here, site_of(cast), work, **more), TODAY, cast.resident)
            cover = asked(here, row, cast.resident)
            with pytest.raises(Refused):
                answered(here, cover, cast.neighbour, end)
            answered(here, cover, cast.neighbour, end - second)
            assert who(row) == ["Flat 5"]
