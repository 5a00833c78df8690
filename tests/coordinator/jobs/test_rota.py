"""A plan is worked out by a job, and again where something moved meanwhile."""

from uuid import uuid4

import pytest

from bins.duties.drafting import NAME, DaysToPlan, State, ask, state_of
from bins.duties.outcomes import of_raw
from bins.duties.planning import gather
from coordinator.jobs import rota as job
from coordinator.jobs.run import run_due
from households.models import Absence, Job, RotaDraft
from households.rota.plan import Infeasible, Plan
from households.rota.planning import solve
from households.rota.problem import Problem
from households.tenancy import inside
from tests.bins.duties.planned import DAY, TODAY, home, kind, site_of
from tests.cast import NOW, Cast
from tests.filled import go_outside

pytestmark = pytest.mark.embedded

FIRST, LAST = TODAY + DAY, TODAY + 28 * DAY


def ask_for(cast: Cast) -> RotaDraft:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        told = DaysToPlan(uuid4(), FIRST, LAST, False)
        row = ask(building=here, site=site_of(cast), told=told, person=None, now=NOW)
    go_outside()
    return row


def test_it_waits_until_its_job_has_run_and_a_second_run_changes_nothing(cast: Cast) -> None:
    row = ask_for(cast)
    assert run_due(NOW) == 1
    with inside(cast.building.uid) as here:
        row.refresh_from_db()
        assert (state_of(here, row), row.done_at) == (State.DONE, NOW)
        assert row.rests_on == gather(here, site_of(cast), FIRST, LAST, NOW).mark
        assert isinstance(of_raw(row.outcome), Plan)
        Job.objects.filter(name=NAME).update(state=Job.State.DUE, done_at=None, wake_at=NOW)
        before = row.outcome
    go_outside()
    run_due(NOW + DAY)
    with inside(cast.building.uid):
        row.refresh_from_db()
        assert (row.outcome, row.done_at) == (before, NOW)


def test_what_changes_while_it_is_worked_out_is_gathered_again(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody's absence is no row of the books: it is asked for by itself, under the lock."""
    row, solved = ask_for(cast), list[Problem]()

    def slowly(problem: Problem, is_again: bool) -> Plan | Infeasible:
        if not solved:
            with inside(cast.building.uid) as here:
                Absence.objects.create(
                    building=here, household=home(cast.resident), first_day=FIRST, last_day=FIRST + DAY
                )
            go_outside()
        solved.append(problem)
        return solve(problem)

    monkeypatch.setattr(job, "work_out", slowly)
    run_due(NOW)
    with inside(cast.building.uid) as here:
        row.refresh_from_db()
        plan = of_raw(row.outcome)
        assert isinstance(plan, Plan)
        assert len(solved) == 2
        assert row.rests_on == gather(here, site_of(cast), FIRST, LAST, NOW).mark
        load = next(one for one in plan.loads if one.household == home(cast.resident).uid)
        assert load.due_seconds < 12600, "two days away are not due"


def test_a_plan_that_nobody_waits_for_any_more_is_not_worked_out(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    row = ask_for(cast)
    with inside(cast.building.uid) as here:
        RotaDraft.objects.within(here).filter(pk=row.pk).delete()
    go_outside()
    monkeypatch.setattr(job, "work_out", lambda *_: pytest.fail("nobody waits for it"))
    assert run_due(NOW) == 1
