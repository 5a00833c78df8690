"""A duty is done, taken by others, or lapses; nobody's misses are kept."""

import datetime as dt
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.care.visit import CareVisit, record_visit
from bins.duties.cover import CoverAsked, ask
from bins.duties.doing import finish, forget, lapse, not_done, take
from bins.duties.limits import LimitsTold, set_limits
from bins.duties.phase import Phase, phase
from bins.duties.wanting import wanting
from bins.records import Refused
from households.models import Absence, Cover, Duty, DutyAssignment, DutyLimits, RotaDraft
from households.tenancy import inside
from tests.cast import NOW, Cast

from .planned import DAY, TODAY, draft, duty, home, kind, site_of, who

pytestmark = pytest.mark.embedded


@pytest.mark.parametrize(
    ("days", "turning", "opening"),
    [
        (-1, Phase.PLANNED, Phase.PLANNED),
        (0, Phase.PLANNED, Phase.PLANNED),
        (1, Phase.OPEN, Phase.LISTED),
        (2, Phase.LISTED, Phase.LISTED),
        (3, Phase.LISTED, Phase.LISTED),
        (4, Phase.OVER, Phase.OVER),
    ],
)
def test_a_duty_is_open_to_all_for_a_day_then_listed_for_two_then_over(
    cast: Cast, days: int, turning: Phase, opening: Phase
) -> None:
    with inside(cast.building.uid) as here:
        for work, expected in (("turning", turning), ("opening", opening)):
            row = duty(here, kind(here, site_of(cast), work), TODAY, cast.resident)
            assert phase(row, TODAY + days * DAY) is expected


def test_what_a_household_says_is_done_is_done_once_and_not_before_its_day(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast))
        row, tomorrow = duty(here, turning, TODAY, cast.resident), duty(here, turning, TODAY + DAY, cast.resident)
        done = finish(building=here, duty_uid=row.uid, household=home(cast.resident), now=NOW)
        again = finish(building=here, duty_uid=row.uid, household=home(cast.resident), now=NOW + dt.timedelta(hours=1))
        assert done.done_at == again.done_at == NOW
        with pytest.raises(Refused):
            finish(building=here, duty_uid=tomorrow.uid, household=home(cast.resident), now=NOW)
        with pytest.raises(Duty.DoesNotExist):
            finish(building=here, duty_uid=tomorrow.uid, household=home(cast.neighbour), now=NOW)


def test_a_turn_recorded_by_the_household_on_that_local_day_marks_its_turning_duty_done(cast: Cast) -> None:
    """Berlin's Monday ends at 22:00 UTC."""
    monday_late = dt.datetime(2026, 5, 4, 21, 59, tzinfo=dt.UTC)
    tuesday = dt.datetime(2026, 5, 4, 22, 0, tzinfo=dt.UTC)

    def visit(at: dt.datetime, who_came: object, *, turned: bool = True) -> None:
        told = {"uid": uuid4(), "drum": cast.drum.uid, "turned": turned, "happened_at": at.isoformat()}
        record_visit(building=here, told=CareVisit.from_raw(told), person=who_came, via="web", now=at)  # type: ignore[arg-type]

    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY, cast.resident)
        trays = duty(here, kind(here, site_of(cast), "trays"), TODAY, cast.resident)
        visit(tuesday, cast.resident)
        visit(monday_late, cast.neighbour)
        visit(monday_late, cast.resident, turned=False)
        row.refresh_from_db()
        assert not row.done_at
        visit(monday_late, cast.resident)
        row.refresh_from_db()
        trays.refresh_from_db()
        assert (row.done_at, trays.done_at) == (monday_late, None)


def test_what_was_open_to_all_is_credited_to_whoever_did_it_and_nobody_else_is_remembered(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY, cast.resident)
        take(building=here, duty_uid=row.uid, household=home(cast.neighbour), now=NOW + DAY)
        row.refresh_from_db()
        assert (row.done_at, who(row)) == (NOW + DAY, ["Flat 5"])
        with pytest.raises(Refused):
            take(building=here, duty_uid=row.uid, household=home(cast.resident), now=NOW + DAY)


def test_a_free_place_is_taken_once_and_no_household_stands_twice_on_a_duty(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast), usual=2), TODAY + DAY, cast.resident)
        take(building=here, duty_uid=row.uid, household=home(cast.resident), now=NOW)
        assert who(row) == ["Flat 3"]
        take(building=here, duty_uid=row.uid, household=home(cast.neighbour), now=NOW)
        assert who(row) == ["Flat 3", "Flat 5"]
        one = duty(here, kind(here, site_of(cast), "trays", least=1, usual=1), TODAY + DAY, cast.resident)
        with pytest.raises(Refused):
            take(building=here, duty_uid=one.uid, household=home(cast.neighbour), now=NOW)


def test_no_place_is_taken_once_the_opening_has_begun(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast), "opening", begins_at="18:00"), TODAY, cast.resident)
        with pytest.raises(Refused):
            take(building=here, duty_uid=row.uid, household=home(cast.neighbour), now=NOW)  # 18:00 in Berlin
        before = NOW - dt.timedelta(seconds=1)
        take(building=here, duty_uid=row.uid, household=home(cast.neighbour), now=before)
        assert who(row) == ["Flat 3", "Flat 5"]


def test_what_lapses_leaves_no_trace_of_who_was_to_do_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast))
        over, listed = duty(here, turning, TODAY - 4 * DAY, cast.resident), duty(here, turning, TODAY - 3 * DAY)
        done = duty(here, turning, TODAY - 5 * DAY, cast.neighbour, done_at=NOW - 5 * DAY)
        assert [row.pk for row in not_done(here, TODAY)] == [listed.pk]
        lapse(here, NOW)
        for row in (over, listed, done):
            row.refresh_from_db()
        assert [row.lapsed_at for row in (over, listed, done)] == [NOW, None, None]
        assert list(DutyAssignment.objects.within(here).values_list("household__label", flat=True)) == ["Flat 5"]
        with pytest.raises(Refused):
            finish(building=here, duty_uid=over.uid, household=None, now=NOW)


def test_of_a_household_that_is_gone_duties_remember_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY + DAY, cast.resident, cast.neighbour)
        set_limits(building=here, household=home(cast.resident), told=LimitsTold(True, True))
        asked = CoverAsked(uuid4(), row.uid)
        ask(building=here, household=home(cast.resident), told=asked, now=NOW)
        draft(here, site_of(cast), TODAY + 30 * DAY, TODAY + 31 * DAY)
        forget(here, home(cast.resident))
        assert not RotaDraft.objects.within(here).exists(), "it stands in a plan that never went up"
        assert who(row) == ["Flat 5"]
        assert not DutyLimits.objects.within(here).exists()
        assert not Cover.objects.within(here).exists()


def test_what_wants_somebody_else_is_found_a_month_ahead_in_one_query(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning, days = kind(here, site_of(cast), usual=1), (0, 1, 2, 28, 29)
        for day in days:
            duty(here, turning, TODAY + day * DAY, cast.resident)
        empty = duty(here, turning, TODAY + 5 * DAY)
        assert wanting(here, NOW) == [empty]
        Absence.objects.create(
            building=here, household=home(cast.resident), first_day=TODAY + DAY, last_day=TODAY + 40 * DAY
        )
        with CaptureQueriesContext(connection) as seen:
            found = [(row.day - TODAY).days for row in wanting(here, NOW)]
        assert (found, len(seen)) == ([1, 2, 5, 28], 1)
