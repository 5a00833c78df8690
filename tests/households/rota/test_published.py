"""Published values, each with its source."""

from fractions import Fraction
from itertools import product
from random import Random

import pytest

from households.rota.due import jain
from households.rota.plan import Goal, Infeasible, Method, Plan, Remedy, Way
from households.rota.planning import solve
from households.rota.problem import Cell, Existing, Problem

from .instances import draw, household, task, uid
from .model import levels


def loads_of(plan: Plan) -> list[int]:
    return [load.minutes for load in plan.loads]


@pytest.mark.parametrize(
    ("loads", "index"),
    [
        ((1, 1, 1, 0), Fraction(3, 4)),
        ((5, 5, 4, 2), Fraction(32, 35)),
        ((16, 0, 0, 0), Fraction(1, 4)),
    ],
)
def test_the_index_of_jain_chiu_and_hawe_1984(loads: tuple[int, ...], index: Fraction) -> None:
    # Jain, Chiu, Hawe: A Quantitative Measure of Fairness and Discrimination, DEC TR-301, 1984 (read in a copy)
    assert jain(loads) == index


def test_four_households_that_only_one_slot_can_take_are_named() -> None:
    # Derived by hand: 3 slots of 3, six households that may use {1}, {1}, {1}, {1}, {1, 2}, {1, 2}
    slots = tuple(task(n, day=n, minutes=1, least=0, usual=3) for n in range(3))
    may = [{0}, {0}, {0}, {0}, {0, 1}, {0, 1}]
    homes = tuple(household(n, may=each, of=3, least=1, most=1) for n, each in enumerate(may))
    answer = solve(Problem(slots, homes))
    assert isinstance(answer, Infeasible)
    assert answer.households == tuple(uid(1 + n) for n in range(4))
    assert answer.tasks == answer.pins == ()
    assert answer.only_tasks == (uid(1000),)
    assert answer.short_by == 1
    assert Way(Remedy.MORE_ROOM, 1, task=uid(1000)) in answer.ways
    assert {way.household for way in answer.ways if way.remedy is Remedy.COMES_LESS} == set(answer.households)


def test_where_efforts_differ_the_fairest_loads_are_not_those_of_least_squares() -> None:
    # Derived by hand: efforts 5, 1, 3, 2 for people {0, 1, 2}, {1}, {0}, {0, 2}
    people = [{0, 1, 2}, {1}, {0}, {0, 2}]
    efforts = [5, 1, 3, 2]
    tasks = tuple(task(n, day=n, minutes=effort, usual=1) for n, effort in enumerate(efforts))
    homes = tuple(household(h, may={n for n, who in enumerate(people) if h in who}, of=4) for h in range(3))
    plan = solve(Problem(tasks, homes))
    assert isinstance(plan, Plan)
    assert sorted(loads_of(plan), reverse=True) == [5, 5, 1]  # the smallest largest load first
    assert plan.proved

    def loads(who: tuple[int, ...]) -> list[int]:
        return [sum(effort for effort, one in zip(efforts, who, strict=True) if one == h) for h in range(3)]

    every = [loads(who) for who in product(*people)]
    least_squares = min(every, key=lambda each: sum(load * load for load in each))
    assert sorted(least_squares, reverse=True) == [6, 3, 2]  # what squares alone would have chosen


def test_a_plan_that_no_single_move_betters_is_bettered_by_a_chain_of_moves() -> None:
    # Path example of the semi-matching literature, derived by hand: loads 6, 5, 4, where 5, 5, 5 is best
    may = [{0, 1}] * 6 + [{1, 2}] * 5 + [{2}] * 4
    held = [0] * 6 + [1] * 5 + [2] * 4
    tasks = tuple(task(n, day=n, minutes=1, usual=1) for n in range(15))
    homes = tuple(household(h, may={n for n, who in enumerate(may) if h in who}, of=15) for h in range(3))
    now = frozenset(Cell(uid(1 + h), uid(1000 + n)) for n, h in enumerate(held))
    load = [held.count(h) for h in range(3)]
    assert not any(load[held[n]] - 1 > load[other] for n in range(15) for other in may[n] - {held[n]})
    plan = solve(Problem(tasks, homes, existing=Existing(now)))
    assert isinstance(plan, Plan)
    assert loads_of(plan) == [5, 5, 5]
    assert plan.value(Goal.KEPT) == 13  # two tasks change hands and no more
    assert {level.method for level in plan.levels} == {Method.FLOW}


@pytest.mark.parametrize("seed", range(12))
def test_an_independent_solver_finds_the_same_value_on_every_level(seed: int) -> None:
    # OR-Tools CP-SAT; three hundred of these in tests/prove/test_rota.py
    problem = draw(Random(seed))
    answer, theirs = solve(problem), levels(problem)
    if theirs is None:
        assert isinstance(answer, Infeasible)
        return
    assert isinstance(answer, Plan)
    ours = {level.goal.value: level.value for level in answer.levels}
    assert ours == {name: value for name, value in theirs.items() if name in ours}
    assert answer.proved
