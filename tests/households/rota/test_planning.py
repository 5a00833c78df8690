"""Every plan keeps the hard rules, says the truth about itself, and does not depend on how it was asked for."""

from dataclasses import replace
from datetime import timedelta
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from households.rota.due import due_seconds
from households.rota.plan import Goal, Infeasible, Method, Plan
from households.rota.planning import solve
from households.rota.problem import Cell, Existing, Household, Problem

from .checks import broken, figures
from .instances import MONDAY, draw, household, task, uid

seeds = st.integers(min_value=0, max_value=10**9)


def plan_of(problem: Problem) -> Plan:
    answer = solve(problem)
    assert isinstance(answer, Plan)
    return answer


@given(seeds)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_a_plan_keeps_every_hard_rule_and_its_figures_are_true(seed: int) -> None:
    problem = draw(Random(seed))
    plan = solve(problem)
    if isinstance(plan, Infeasible):
        assert plan.tasks or plan.households or plan.pins
        assert plan.ways
        return
    assert broken(problem, plan) == []
    tasks = {t.uid: t for t in problem.tasks}
    counted = figures(problem, plan)
    assert [(level.goal, level.value) for level in plan.levels] == [
        (g.goal, counted[g.goal.value]) for g in plan.levels
    ]
    for load in plan.loads:
        mine = [tasks[c.task].minutes for c in plan.cells if c.household == load.household]
        assert (load.tasks, load.minutes) == (len(mine), sum(mine))
    if any(h.days_present for h in problem.households):
        assert sum(load.due_seconds for load in plan.loads) == 60 * sum(load.minutes for load in plan.loads)


@given(seeds, st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_the_same_problem_in_another_order_has_the_same_answer(seed: int, rng: Random) -> None:
    problem = draw(Random(seed))
    tasks, households = list(problem.tasks), list(problem.households)
    rng.shuffle(tasks)
    rng.shuffle(households)
    assert solve(replace(problem, tasks=tuple(tasks), households=tuple(households))) == solve(problem)


def test_those_who_are_alike_take_turns_in_the_order_of_their_uids() -> None:
    tasks = tuple(task(n, day=n, usual=1) for n in range(8))
    homes = tuple(household(n) for n in range(4))
    plan = plan_of(Problem(tasks, homes))
    assert [c.household for c in sorted(plan.cells, key=lambda c: c.task)] == [uid(1 + n % 4) for n in range(8)]


def test_who_is_there_half_the_days_is_due_half_as_much() -> None:
    tasks = tuple(task(n, day=n, usual=1) for n in range(10))
    homes = (household(0), household(1), household(2, days_present=14))
    assert [load.tasks for load in plan_of(Problem(tasks, homes)).loads] == [4, 4, 2]


def test_what_earlier_periods_left_is_made_up_for() -> None:
    tasks = tuple(task(n, day=n, usual=1) for n in range(6))
    behind = household(0, done_minutes=20, due_seconds=60 * 60)
    ahead = household(1, done_minutes=100, due_seconds=60 * 60)
    plan = plan_of(Problem(tasks, (behind, ahead)))
    assert [load.tasks for load in plan.loads] == [5, 1]
    assert [load.ahead_before_seconds for load in plan.loads] == [-2400, 2400]
    assert [load.ahead_after_seconds for load in plan.loads] == [0, 0]
    assert plan.balance_before is not None
    assert plan.balance_before < 1
    assert plan.balance_after == 1


def test_the_worked_table_of_the_rooms_page() -> None:
    tasks = tuple(task(n, day=n, usual=1) for n in range(6))
    homes = (household(0, due_seconds=1800), household(1), household(2, done_minutes=10))
    plan = plan_of(Problem(tasks, homes))
    assert [load.tasks for load in plan.loads] == [3, 2, 1]
    assert [load.ahead_after_seconds for load in plan.loads] == [-600, 0, -600]


def test_a_wish_never_makes_a_load_uneven() -> None:
    tasks = tuple(task(n, day=n, usual=1) for n in range(4))
    keen = household(0, prefers=(0, 1, 2, 3))
    plan = plan_of(Problem(tasks, (keen, household(1))))
    assert [load.tasks for load in plan.loads] == [2, 2]
    assert plan.value(Goal.PREFERRED) == 2


def test_the_least_number_comes_before_the_usual_one() -> None:
    tasks = (task(0, usual=2), task(1, day=1, usual=2))
    homes = (household(0, most=1), household(1, most=1), household(2, most=1, may={0}, of=2))
    plan = plan_of(Problem(tasks, homes))
    assert {c.task for c in plan.cells} == {uid(1000), uid(1001)}
    assert plan.value(Goal.PLACES) == 3


def test_not_two_days_running_holds_at_its_edge() -> None:
    tasks = tuple(task(n, day=n, usual=1) for n in range(3))
    homes = (household(0, may={0, 1, 2}, of=3, prefers=(0, 1, 2)), household(1))
    for days_apart, most in ((0, 2), (1, 2), (2, 2), (3, 1)):
        answer = solve(Problem(tasks, homes, days_apart=days_apart))
        if days_apart == 3:
            assert isinstance(answer, Infeasible)
            continue
        assert isinstance(answer, Plan)
        first = [c.task for c in answer.cells if c.household == uid(1)]
        assert len(first) <= most
        if days_apart == 2:
            assert uid(1001) not in first or len(first) == 1


def test_who_cannot_lift_gets_no_heavy_task_and_as_many_minutes() -> None:
    tasks = tuple(task(n, day=n, usual=1, heavy=n % 2 == 0) for n in range(8))
    plan = plan_of(Problem(tasks, (household(0), Household(uid(2), 28, lifts=False))))
    assert [load.tasks for load in plan.loads] == [4, 4]
    assert {c.task for c in plan.cells if c.household == uid(2)} == {uid(1000 + n) for n in (1, 3, 5, 7)}


def test_what_is_frozen_stays_even_if_its_household_cannot_any_more() -> None:
    tasks = (task(0, usual=1), task(1, day=5, usual=1))
    gone = household(0, may=set(), of=2, days_present=0)
    now = frozenset({Cell(uid(1), uid(1000)), Cell(uid(1), uid(1001)), Cell(uid(77), uid(1000))})
    plan = plan_of(Problem(tasks, (gone, household(1)), existing=Existing(now, frozenset({uid(1000)}))))
    assert plan.cells == (Cell(uid(1), uid(1000)), Cell(uid(2), uid(1001)))
    assert plan.loads[0].ahead_after_seconds == 1200  # it is due nothing, and has done 20 minutes


def test_nothing_to_do_and_nobody_there_are_plans_too() -> None:
    assert plan_of(Problem((), ())).cells == ()
    assert plan_of(Problem((), (household(0),))).loads[0].due_seconds == 0
    assert plan_of(Problem((task(0, least=0),), ())).cells == ()
    assert isinstance(solve(Problem((task(0),), ())), Infeasible)


def test_equal_minutes_are_solved_by_flow_and_unequal_ones_by_the_solver() -> None:
    homes = tuple(household(n) for n in range(3))
    alike = plan_of(Problem(tuple(task(n, day=n) for n in range(4)), homes))
    mixed = plan_of(Problem(tuple(task(n, day=n, minutes=10 + 5 * n) for n in range(4)), homes))
    assert {level.method for level in alike.levels} == {Method.FLOW}
    assert {level.method for level in mixed.levels} == {Method.SOLVER}
    assert alike.proved
    assert mixed.proved


def test_seconds_due_sum_exactly_and_spare_ones_go_to_the_largest_fractions() -> None:
    three = [household(n) for n in range(3)]
    assert due_seconds(three, 100) == [2000, 2000, 2000]
    assert due_seconds([*three, *(household(n) for n in range(3, 7))], 1) == [9, 9, 9, 9, 8, 8, 8]
    assert due_seconds([household(0, days_present=1), household(1, days_present=2)], 1) == [20, 40]
    assert due_seconds([household(0, days_present=0)], 5) == [0]


def test_days_are_counted_over_the_end_of_a_month() -> None:
    tasks = (replace(task(0, usual=1), day=MONDAY), replace(task(1, usual=1), day=MONDAY + timedelta(days=31)))
    plan = plan_of(Problem(tasks, (household(0),), days_apart=7))
    assert len(plan.cells) == 2
