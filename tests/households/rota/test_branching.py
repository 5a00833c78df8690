"""Cut short, the solver's plan is still a whole one, and what isn't proved says so."""

import pytest

from households.rota import branching
from households.rota.branching import Undecided
from households.rota.plan import Goal, Plan
from households.rota.planning import solve
from households.rota.problem import Problem

from .checks import broken, figures
from .instances import household, task

LEAST = {Goal.LARGEST, Goal.SQUARES}


def hard() -> Problem:
    """Thirty tasks of three kinds among ten, each with wishes of its own."""
    tasks = tuple(task(n, day=n, minutes=(10, 15, 45)[n % 3], usual=1 + n % 2) for n in range(30))
    homes = tuple(
        household(
            h,
            may={n for n in range(30) if (h * n) % 7 != 3},
            of=30,
            prefers=tuple(n for n in range(30) if (h + 3 * n) % 5 == 0),
            due_seconds=97 * h,
        )
        for h in range(10)
    )
    return Problem(tasks, homes, days_apart=2)


def test_a_level_that_is_cut_short_states_what_it_could_not_rule_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(branching, "MOST_PAUSES", 2)
    plan = solve(hard())
    assert isinstance(plan, Plan)
    assert not plan.proved
    assert broken(hard(), plan) == []
    counted = figures(hard(), plan)
    for level in plan.levels:
        assert level.value == counted[level.goal.value]
        assert (level.bound <= level.value) if level.goal in LEAST else (level.bound >= level.value)
    assert solve(hard()) == plan  # counted pauses stop at the same place


def test_without_a_plan_or_a_proof_nothing_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(branching, "MOST_PAUSES", 0)
    with pytest.raises(Undecided):
        solve(hard())
