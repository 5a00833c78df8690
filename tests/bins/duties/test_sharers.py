"""Who shares the duties: those left out are in no plan, and nothing is due from them."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.duties.limits import LimitsTold, limits_of, set_limits
from bins.duties.planning import gather
from bins.duties.sharers import SharersTold, households_of, set_sharers
from bins.duties.wanting import wanting
from bins.records import Refused
from households.models import Building, DutyLimits, Household
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer

from .planned import DAY, TODAY, duty, home, kind, site_of

pytestmark = pytest.mark.embedded


def choose(here: Building, cast: Cast, *homes: Household) -> None:
    told = SharersTold.from_raw([str(one.uid) for one in homes])
    set_sharers(building=here, site=site_of(cast), told=told, person=cast.caretaker, now=NOW)


def test_everybody_shares_until_somebody_is_left_out_and_then_comes_back(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        own, other = home(cast.resident), home(cast.neighbour)

        def planned() -> set[Household]:
            found = gather(here, site_of(cast), TODAY + DAY, TODAY + 28 * DAY, NOW)
            return set(found.households.values())

        assert planned() == {own, other}
        choose(here, cast, own)
        assert planned() == {own}
        assert dict(households_of(here, site_of(cast), TODAY)) == {own: True, other: False}
        choose(here, cast, own, other)
        assert planned() == {own, other}


def test_what_a_household_says_of_itself_stays_apart_from_being_left_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        own, other = home(cast.resident), home(cast.neighbour)
        set_limits(building=here, household=other, told=LimitsTold(True, False))
        choose(here, cast, own)
        assert limits_of(here, other) == LimitsTold(True, False)
        set_limits(building=here, household=other, told=LimitsTold(False, False))
        assert limits_of(here, other) == LimitsTold(False, False)
        assert dict(households_of(here, site_of(cast), TODAY))[other] is False
        choose(here, cast, own, other)
        set_limits(building=here, household=other, told=LimitsTold(False, False))
        assert not DutyLimits.objects.within(here).filter(household=other).exists()


@pytest.mark.parametrize("raw", [None, "x", ["x"], [], [str(uuid4())]])
def test_nobody_and_others_are_refused(cast: Cast, raw: object) -> None:
    with inside(cast.building.uid) as here:
        with pytest.raises(Refused) as refused:
            set_sharers(building=here, site=site_of(cast), told=SharersTold.from_raw(raw), person=None, now=NOW)
        assert [*refused.value.errors] == ["households"]
        assert not DutyLimits.objects.within(here).exists()


def test_duties_of_who_was_left_out_since_want_somebody_else(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast), usual=1), TODAY + DAY, cast.neighbour)
        assert wanting(here, NOW) == []
        choose(here, cast, home(cast.resident))
        assert wanting(here, NOW) == [row]


def test_the_list_takes_one_query_however_many_there_are(cast: Cast) -> None:
    for number in range(4):
        newcomer(cast.building, f"Neighbour{number}", f"Flat {20 + number}", "resident")
    with inside(cast.building.uid) as here:
        choose(here, cast, home(cast.resident))
        with CaptureQueriesContext(connection) as seen:
            assert len(households_of(here, site_of(cast), TODAY)) == 6
        assert len(seen) == 1
