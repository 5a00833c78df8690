"""An opening short of people is flagged 72 hours ahead, once, by day."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.duties.doing import give_back
from bins.duties.openings import short_openings, tell_if_short
from bins.duties.publishing import PutUp, put_up
from coordinator.jobs.run import run_due
from households.models import DutyAssignment, Job, Notice
from households.tenancy import inside
from tests.cast import NOW, Cast

from .planned import DAY, TODAY, draft, duty, home, kind, site_of

pytestmark = pytest.mark.embedded

BEGINS = dt.datetime(2026, 5, 8, 15, 0, tzinfo=dt.UTC)  # Friday 17:00 in Berlin
AHEAD = dt.timedelta(hours=72)
SECOND = dt.timedelta(seconds=1)


def test_it_is_flagged_from_72_hours_before_until_it_begins(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast), "opening", least=2), TODAY + 4 * DAY, cast.resident)
        seen = [
            [one.pk for one in short_openings(here, at)]
            for at in (BEGINS - AHEAD - SECOND, BEGINS - AHEAD, BEGINS - SECOND, BEGINS)
        ]
        assert seen == [[], [row.pk], [row.pk], []]


def test_one_with_enough_people_and_a_duty_that_is_no_opening_are_not_flagged(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        duty(here, kind(here, site_of(cast), "opening", least=1), TODAY + 4 * DAY, cast.resident)
        duty(here, kind(here, site_of(cast), "trays"), TODAY + 4 * DAY)
        assert short_openings(here, BEGINS - AHEAD) == []


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe"])
@pytest.mark.parametrize(
    "day", [dt.date(2026, 3, 29), dt.date(2026, 3, 8), dt.date(2026, 10, 25), dt.date(2026, 10, 4)]
)
def test_72_hours_are_hours_even_where_a_clock_changes(cast: Cast, zone: str, day: dt.date) -> None:
    with inside(cast.building.uid) as here:
        here.time_zone = zone
        here.save(update_fields=["time_zone"])
        row = duty(here, kind(here, site_of(cast), "opening", starts_on="2026-01-01"), day, least=1)
        at = here.instant(day, dt.time(17))
        assert [one.pk for one in short_openings(here, at - AHEAD)] == [row.pk]
        assert short_openings(here, at - AHEAD - SECOND) == []


def test_the_caretaker_hears_once_and_not_by_night(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast), "opening", least=2), TODAY + DAY, cast.resident)
        night = dt.datetime(2026, 5, 4, 19, 0, tzinfo=dt.UTC)  # 21:00 in Berlin: too late
        for at in (night, night + DAY / 24):
            tell_if_short(here, row, at)
        (letter,) = Notice.objects.filter(building=here, kind="short-opening")
        assert letter.created_at == dt.datetime(2026, 5, 5, 5, 0, tzinfo=dt.UTC)
        assert letter.to == "ottilie@quince-court.invalid"
        assert letter.body.startswith("People who come: 1. Needed at least: 2.")


def test_when_somebody_moves_out_within_the_72_hours_it_is_told_at_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        opening = kind(here, site_of(cast), "opening", least=1)
        duty(here, opening, TODAY + DAY, cast.resident)
        duty(here, opening, TODAY + 5 * DAY, cast.resident)
        give_back(here, home(cast.resident), TODAY, NOW)
        assert Notice.objects.filter(building=here, kind="short-opening").count() == 1


def test_the_job_of_a_published_opening_runs_72_hours_before_and_tells(cast: Cast) -> None:
    """Put up on Monday for a Friday with one of two who come; on Tuesday at 17:00 in Berlin the job looks."""
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), "opening", least=2, rule="FREQ=WEEKLY;BYDAY=FR")
        row = draft(here, site_of(cast), TODAY + DAY, TODAY + 7 * DAY)
        put_up(building=here, draft=row, told=PutUp(uuid4(), "published"), person=None, now=NOW)
        DutyAssignment.objects.within(here).filter(household=home(cast.resident)).delete()
        Job.objects.exclude(name="short-opening").delete()
    for at, letters in ((BEGINS - AHEAD - SECOND, 0), (BEGINS - AHEAD, 1), (BEGINS - AHEAD + DAY, 1)):
        run_due(at)
        with inside(cast.building.uid) as here:
            assert Notice.objects.filter(building=here, kind="short-opening").count() == letters
