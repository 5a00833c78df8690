"""When nights are: each once, in order, as of 03:00 of its own date by the building's own clock."""

import dataclasses
import datetime as dt
from uuid import uuid5

import pytest

from bins.decisions import night
from bins.founding.founding import found_block
from coordinator.jobs.run import run_due
from coordinator.jobs.timetable import TIMETABLE
from coordinator.jobs.work import Step
from households.models import Building, Job
from households.tenancy import inside
from tests.cast import BASE, NOW, Cast, block

from .scenes import DAY, FIRST_NIGHT

pytestmark = pytest.mark.embedded


def utc(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("zone", "day", "instant"),
    [
        ("Europe/Berlin", "2026-03-28", "2026-03-28T02:00"),
        ("Europe/Berlin", "2026-03-29", "2026-03-29T01:00"),  # from 02:00 on the clock says 03:00
        ("Europe/Berlin", "2026-10-25", "2026-10-25T02:00"),  # 02:00 to 03:00 came twice
        ("America/New_York", "2026-03-08", "2026-03-08T07:00"),
        ("America/New_York", "2026-11-01", "2026-11-01T08:00"),
        ("Europe/Helsinki", "2026-03-29", "2026-03-29T01:00"),  # no 03:00 that day: 04:00, as RFC 5545 says
        ("Europe/Helsinki", "2026-10-25", "2026-10-25T00:00"),  # 03:00 twice: the first
        ("Asia/Kolkata", "2026-05-05", "2026-05-04T21:30"),
    ],
)
def test_a_night_is_at_three_of_the_buildings_clock(zone: str, day: str, instant: str) -> None:
    assert night.as_of(Building(time_zone=zone), dt.date.fromisoformat(day)) == utc(instant)


def found_at(now: dt.datetime, zone: str = "Europe/Berlin") -> Building:
    told = dataclasses.replace(block("Plum Lane", "Ada"), uid=uuid5(BASE, "Plum Lane"), time_zone=zone)
    return found_block(block=told, email="ada@plum-lane.invalid", now=now).building


def nights(building: Building) -> list[tuple[str, str]]:
    with inside(building.uid) as here:
        return [*Job.objects.filter(building=here, name="night").order_by("key").values_list("key", "state")]


@pytest.mark.parametrize(
    ("founded", "first"),
    [
        ("2026-05-05T00:59:59", "2026-05-05"),  # 02:59:59 in Berlin
        ("2026-05-05T01:00:00", "2026-05-06"),
        ("2026-05-05T01:00:01", "2026-05-06"),
    ],
)
def test_the_first_night_is_the_next_three_o_clock(db: None, founded: str, first: str) -> None:
    building = found_at(utc(founded))
    assert nights(building) == [(first, "due")]
    with inside(building.uid) as here:
        wake_at = Job.objects.get(building=here, name="night").wake_at
    assert wake_at == night.as_of(building, dt.date.fromisoformat(first))
    assert wake_at > utc(founded)


@pytest.mark.parametrize(
    ("zone", "begin"),
    [
        ("Europe/Berlin", "2026-03-27"),
        ("Europe/Berlin", "2026-10-23"),
        ("America/New_York", "2026-03-06"),
        ("America/New_York", "2026-10-30"),
        ("Europe/Helsinki", "2026-03-27"),
        ("Europe/Helsinki", "2026-10-23"),
    ],
)
def test_when_the_clocks_change_each_date_still_has_one_night(db: None, zone: str, begin: str) -> None:
    building = found_at(utc(f"{begin}T12:00"), zone)
    for half_hour in range(2 * 24 * 4):
        run_due(utc(f"{begin}T12:00") + half_hour * dt.timedelta(minutes=30))
    day = dt.date.fromisoformat(begin)
    assert nights(building) == [
        *(((day + n * DAY).isoformat(), "done") for n in range(1, 5)),
        ((day + 5 * DAY).isoformat(), "due"),
    ]


def watch(monkeypatch: pytest.MonkeyPatch, cast: Cast) -> list[tuple[str, dt.datetime]]:
    """Which nights of the building are gathered, in order, and as of when."""
    seen: list[tuple[str, dt.datetime]] = []
    work = TIMETABLE["night"]

    def gather(step: Step) -> night.Gathered | None:
        gathered: night.Gathered | None = work.gather(step)
        if gathered is not None and step.home.uid == cast.building.uid:
            seen.append((step.due.key, gathered.at))
        return gathered

    monkeypatch.setitem(TIMETABLE, "night", dataclasses.replace(work, gather=gather))
    return seen


@pytest.mark.parametrize(
    ("days_away", "made_up"),
    [(0, 1), (1, 2), (13, 14), (14, 14), (40, 14)],
)
def test_missed_nights_run_oldest_first_each_as_of_its_own_date_and_fourteen_at_most(
    cast: Cast, monkeypatch: pytest.MonkeyPatch, days_away: int, made_up: int
) -> None:
    seen = watch(monkeypatch, cast)
    last = dt.date(2026, 5, 5) + days_away * DAY
    run_due(FIRST_NIGHT + days_away * DAY + dt.timedelta(hours=4))
    assert seen == [
        (day.isoformat(), night.as_of(cast.building, day)) for day in (last - n * DAY for n in reversed(range(made_up)))
    ]
    assert nights(cast.building)[-1] == ((last + DAY).isoformat(), "due")


def test_a_parked_night_put_right_after_a_later_one_decides_nothing(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_due(FIRST_NIGHT)
    run_due(FIRST_NIGHT + DAY)
    with inside(cast.building.uid) as here:
        Job.objects.filter(building=here, name="night", key="2026-05-05").update(state="due", done_at=None)
    seen = watch(monkeypatch, cast)
    run_due(FIRST_NIGHT + DAY)
    assert (seen, nights(cast.building)[0]) == ([], ("2026-05-05", "done"))


def test_a_new_building_is_not_made_up_for(cast: Cast) -> None:
    assert nights(cast.building) == [("2026-05-05", "due")]
    run_due(NOW)
    assert nights(cast.building) == [("2026-05-05", "due")]
