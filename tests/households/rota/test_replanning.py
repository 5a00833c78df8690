"""Three plans beside the one in force: what is near stays, and each says how many people change."""

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from households.rota.plan import Goal, Infeasible, Plan, Replans
from households.rota.planning import replan, solve
from households.rota.problem import Cell, Existing, Problem

from .checks import broken, figures
from .instances import draw, household, task, uid
from .model import levels

FEWEST = ("kept", "largest", "squares", "preferred")


def cell(home: int, number: int) -> Cell:
    return Cell(uid(1 + home), uid(1000 + number))


def replans_of(problem: Problem) -> Replans:
    answer = replan(problem)
    assert isinstance(answer, Replans)
    return answer


def test_one_absence_changes_two_people_at_least_and_fairness_costs_more() -> None:
    # Twelve tasks in turns among four; the first is away for the second half.
    tasks = tuple(task(n, day=n, usual=1) for n in range(12))
    now = frozenset(cell(n % 4, n) for n in range(12))
    homes = (household(0, may=set(range(6)), of=12, days_present=14), *(household(n) for n in range(1, 4)))
    frozen = frozenset(uid(1000 + n) for n in range(2))
    three = replans_of(Problem(tasks, homes, existing=Existing(now, frozen)))
    assert three.fewest.dropped == (cell(0, 8),)
    assert len(three.fewest.changed) == 2
    assert uid(1) in three.fewest.changed
    for each in (three.fewest, three.halfway, three.fairest):
        assert {c for c in each.plan.cells if c.task in frozen} == {cell(0, 0), cell(1, 1)}
    kept = [each.plan.value(Goal.KEPT) for each in (three.fewest, three.halfway, three.fairest)]
    assert kept == sorted(kept, reverse=True)


def test_a_plan_that_is_still_the_best_changes_nobody() -> None:
    tasks = tuple(task(n, day=n, usual=1) for n in range(8))
    homes = tuple(household(n) for n in range(4))
    first = solve(Problem(tasks, homes))
    assert isinstance(first, Plan)
    three = replans_of(Problem(tasks, homes, existing=Existing(frozenset(first.cells))))
    for each in (three.fewest, three.halfway, three.fairest):
        assert (each.changed, each.added, each.dropped) == ((), (), ())


def test_a_newcomer_is_given_more_the_fairer_the_plan() -> None:
    tasks = tuple(task(n, day=n, usual=1) for n in range(12))
    now = frozenset(cell(n % 2, n) for n in range(12))
    three = replans_of(Problem(tasks, tuple(household(n) for n in range(3)), existing=Existing(now)))
    newcomer = [each.plan.loads[2].tasks for each in (three.fewest, three.halfway, three.fairest)]
    assert newcomer == [0, 2, 4]
    assert [len(each.changed) for each in (three.fewest, three.halfway, three.fairest)] == [0, 3, 3]


def test_a_closed_day_counts_as_a_change_for_those_who_had_it() -> None:
    now = frozenset({cell(0, 0), cell(1, 1)})
    three = replans_of(Problem((task(1, day=1, usual=1),), (household(0), household(1)), existing=Existing(now)))
    assert three.fewest.changed == (uid(1),)
    assert three.fewest.dropped == (cell(0, 0),)


@given(st.integers(min_value=0, max_value=10**9))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_each_of_the_three_is_the_best_that_an_independent_model_finds(seed: int) -> None:
    problem = draw(Random(seed))
    answer = replan(problem)
    if isinstance(answer, Infeasible) or not problem.existing.cells:
        return
    three = (answer.fewest, answer.halfway, answer.fairest)
    values = [{level.goal.value: level.value for level in each.plan.levels} for each in three]
    for each, value in zip(three, values, strict=True):
        assert broken(problem, each.plan) == []
        assert figures(problem, each.plan) == figures(problem, each.plan) | value
        assert frozenset(each.plan.cells) - problem.existing.cells == frozenset(each.added)
    theirs = levels(problem, FEWEST), levels(problem)
    for ours, other in zip((values[0], values[2]), theirs, strict=True):
        assert other is not None
        assert ours == {name: value for name, value in other.items() if name in ours}
    ends = [[load.ahead_after_seconds for load in each.plan.loads] for each in three]
    low, high = (min(ends[0]) + min(ends[2])) // 2, (max(ends[0]) + max(ends[2])) // 2
    bounds = min(low, *ends[2]), max(high, *ends[2])
    halfway = levels(problem, FEWEST, bounds)
    assert halfway is not None
    assert values[1] == {name: value for name, value in halfway.items() if name in values[1]}
