"""A job's life: claimed by one, gathered again when the books move, tried five times, parked."""

import datetime as dt
import threading
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection

from bins.intake.dropoff import DropOff, record_drop_off
from coordinator.jobs import canary, run
from coordinator.jobs.claim import LEASE, Claim, Due, claim, retry_parked
from coordinator.jobs.timetable import TIMETABLE
from coordinator.jobs.work import Step, Work
from households.models import Audit, Job
from households.models.job import EVERYWHERE
from households.tenancy import inside
from tests.cast import NOW, Cast

from .scenes import DAY, FIRST_NIGHT

pytestmark = pytest.mark.embedded
SECOND = dt.timedelta(seconds=1)


def nothing(_: object) -> None:
    return None


def add_row(step: Step, _: object) -> None:
    Audit.note(step.home, None, "tally", step.now, key=step.due.key)


@pytest.fixture
def tally(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Put a job `tally` on the timetable that adds one row; each of its steps may be another."""

    def register(**steps: Any) -> None:
        monkeypatch.setitem(
            TIMETABLE, "tally", Work(**({"gather": nothing, "decide": nothing, "apply": add_row} | steps))
        )

    register()
    return register


def promise(cast: Cast, key: str = "1") -> Due:
    with inside(cast.building.uid) as here:
        Job.plan(here, "tally", key, NOW)
    return Due(str(cast.building.uid), "tally", key)


def job(cast: Cast, name: str = "tally") -> Job:
    """The first of that name in the building."""
    with inside(cast.building.uid) as here:
        return Job.objects.filter(building=here, name=name).order_by("key")[0]


def rows(cast: Cast) -> int:
    with inside(cast.building.uid) as here:
        return Audit.objects.within(here).filter(act="tally").count()


def bring_a_pail(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4})
        record_drop_off(building=here, told=told, household=None, person=None, via="web", now=NOW)


@pytest.mark.usefixtures("tally")
def test_a_job_is_free_again_when_its_lease_is_over_and_not_before(cast: Cast) -> None:
    due = promise(cast)
    assert claim(due, NOW - SECOND) is None
    first = claim(due, NOW)
    assert first is not None
    assert claim(due, NOW) is None
    assert claim(due, NOW + LEASE - SECOND) is None
    second = claim(due, NOW + LEASE)
    assert second is not None
    assert (first.attempts, second.attempts) == (1, 2)
    assert first.token != second.token


def test_a_worker_whose_lease_ran_out_writes_nothing(cast: Cast, tally: Callable[..., None]) -> None:
    due, later = promise(cast), NOW + LEASE
    other: list[Claim | None] = []

    def slow_decide(_: object) -> None:
        if not other:
            other.append(claim(due, later))

    tally(decide=slow_decide)
    run.run_due(NOW)
    assert rows(cast) == 0
    (held,) = other
    assert held is not None
    assert (job(cast).state, job(cast).token) == ("running", held.token)
    run.run(held, later)
    assert (rows(cast), job(cast).state, job(cast).attempts) == (1, "done", 2)


def test_a_worker_that_is_overtaken_while_it_writes_takes_it_all_back(
    cast_in_the_open: Cast, tally: Callable[..., None]
) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("one writer at a time: nobody can claim meanwhile")
    cast, due, other = cast_in_the_open, promise(cast_in_the_open), []

    def claim_elsewhere() -> None:
        other.append(claim(due, NOW + LEASE))
        connection.close()

    def slow_apply(step: Step, decided: object) -> None:
        add_row(step, decided)
        if not other:
            thread = threading.Thread(target=claim_elsewhere)
            thread.start()
            thread.join()

    tally(apply=slow_apply)
    run.run_due(NOW)
    assert (rows(cast), job(cast).state, job(cast).token) == (0, "running", other[0].token)
    run.run(other[0], NOW + LEASE)
    assert (rows(cast), job(cast).state) == (1, "done")


@pytest.mark.parametrize(("reads_ledger", "gathers"), [(True, 2), (False, 1)])
def test_books_that_move_during_the_decision_are_read_again(
    cast: Cast, tally: Callable[..., None], reads_ledger: bool, gathers: int
) -> None:
    promise(cast)
    gathered: list[int] = []

    def gather(step: Step) -> int:
        gathered.append(step.home.ledger_number)
        return len(gathered)

    def decide(time: int) -> None:
        if time == 1:
            bring_a_pail(cast)

    tally(gather=gather, decide=decide, reads_ledger=reads_ledger)
    run.run_due(NOW)
    assert (len(gathered), rows(cast), job(cast).state, job(cast).attempts) == (gathers, 1, "done", 1)


def test_books_that_never_rest_are_left_for_later(cast: Cast, tally: Callable[..., None]) -> None:
    promise(cast)
    tally(decide=lambda _: bring_a_pail(cast), reads_ledger=True)
    run.run_due(NOW)
    found = job(cast)
    assert (rows(cast), found.state, found.last_error) == (0, "due", "RuntimeError: the books moved during each try")


def fail_the_nights(monkeypatch: pytest.MonkeyPatch) -> None:
    def decide(_: object) -> None:
        raise ValueError("no sense\nin this")

    monkeypatch.setitem(TIMETABLE, "night", Work(nothing, decide, add_row, follow=TIMETABLE["night"].follow))


def test_a_failing_job_waits_twice_as_long_each_time_and_is_parked_at_the_fifth(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    fail_the_nights(monkeypatch)
    now, waits = FIRST_NIGHT, []
    for attempt in range(1, 6):
        run.run_due(now)
        found = job(cast, "night")
        assert (found.attempts, found.last_error) == (attempt, "ValueError: no sense\nin this")
        if attempt < 5:
            assert found.state == "due"
            waits.append((found.wake_at - now).seconds)
            run.run_due(found.wake_at - SECOND)
            assert job(cast, "night").attempts == attempt, "tried too early"
            now = found.wake_at
    assert waits == [30, 60, 120, 240]
    assert job(cast, "night").state == "parked"
    run.run_due(now + DAY / 2)
    assert job(cast, "night").attempts == 5, "a parked job was tried again"


def test_a_parked_night_promises_the_next_and_runs_when_told_to(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    good = TIMETABLE["night"]
    fail_the_nights(monkeypatch)
    for minutes in (0, 1, 3, 6, 12):
        run.run_due(FIRST_NIGHT + dt.timedelta(minutes=minutes))
    monkeypatch.setitem(TIMETABLE, "night", good)
    with inside(cast.building.uid) as here:
        nights = Job.objects.filter(building=here, name="night").order_by("key")
        assert [*nights.values_list("key", "state")] == [("2026-05-05", "parked"), ("2026-05-06", "due")]
        assert retry_parked(FIRST_NIGHT + DAY / 2) >= 1
    run.run_due(FIRST_NIGHT + DAY / 2)
    assert (job(cast, "night").state, job(cast, "night").attempts) == ("done", 1)


def test_a_worker_that_is_killed_on_each_try_parks_the_job_as_well(cast: Cast) -> None:
    due = Due(str(cast.building.uid), "night", "2026-05-05")
    for number in range(5):
        assert claim(due, FIRST_NIGHT + number * LEASE) is not None  # and not another word
    run.run_due(FIRST_NIGHT + 5 * LEASE - SECOND)
    assert job(cast, "night").state == "running"
    run.run_due(FIRST_NIGHT + 5 * LEASE)
    found = job(cast, "night")
    assert (found.state, found.token) == ("parked", None)
    assert found.last_error.startswith("RuntimeError: ended without a word on each try")
    with inside(cast.building.uid) as here:
        assert Job.objects.filter(building=here, name="night", state="due", key="2026-05-06").exists()


def test_a_job_that_nobody_knows_says_so(cast: Cast) -> None:
    promise(cast)
    run.run_due(NOW)
    assert (job(cast).state, job(cast).last_error) == ("due", "LookupError: no job is called tally")


@pytest.mark.usefixtures("tally")
def test_a_round_ends_after_a_minute_since_leases_count_from_its_beginning(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    for key in "123":
        promise(cast, key)
    clock = iter([0.0, 59.0, 61.0, 61.0])
    monkeypatch.setattr(run, "time", SimpleNamespace(monotonic=lambda: next(clock)))
    assert (run.run_due(NOW), rows(cast)) == (2, 2)
    monkeypatch.undo()


def canaries() -> list[tuple[str, str]]:
    return [*Job.objects.filter(scope=EVERYWHERE, name="canary").order_by("key").values_list("key", "state")]


def test_canaries_sing_once_a_minute_however_many_loops_begin(db: None) -> None:
    for seconds in (13, 14, 59):
        canary.plan_first(NOW + seconds * SECOND)
    assert canaries() == [("2026-05-04T16:00:00+00:00", "due")]
    run.run_due(NOW + 59 * SECOND)
    assert canary.age(NOW + 60 * SECOND) == SECOND
    run.run_due(NOW + 61 * SECOND)
    canary.plan_first(NOW + 61 * SECOND)
    assert canaries() == [
        ("2026-05-04T16:00:00+00:00", "done"),
        ("2026-05-04T16:01:00+00:00", "done"),
        ("2026-05-04T16:02:00+00:00", "due"),
    ]


def test_after_a_silence_the_canary_goes_on_from_now(db: None) -> None:
    canary.plan_first(NOW)
    run.run_due(NOW + dt.timedelta(hours=5, seconds=20))
    assert [key for key, state in canaries() if state == "due"] == ["2026-05-04T21:01:00+00:00"]


def test_a_parked_canary_does_not_end_the_canaries(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: object) -> None:
        raise OSError("the disk is full")

    good = TIMETABLE["canary"]
    monkeypatch.setitem(TIMETABLE, "canary", Work(nothing, fail, add_row, follow=good.follow))
    canary.plan_first(NOW)
    for minutes in (0, 1, 3, 6, 12):
        run.run_due(NOW + dt.timedelta(minutes=minutes))
    monkeypatch.setitem(TIMETABLE, "canary", good)
    assert canaries() == [("2026-05-04T16:00:00+00:00", "parked"), ("2026-05-04T16:13:00+00:00", "due")]
    run.run_due(NOW + dt.timedelta(minutes=13))
    assert canary.age(NOW + dt.timedelta(minutes=14)) == dt.timedelta(minutes=1)
