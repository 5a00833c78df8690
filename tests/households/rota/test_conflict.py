"""What cannot be met is told as a smallest set, with ways out that do free it."""

from dataclasses import replace
from random import Random
from uuid import UUID

from hypothesis import given, settings
from hypothesis import strategies as st

from households.rota.plan import Infeasible, Plan, Remedy, Way
from households.rota.planning import replan, solve
from households.rota.problem import Cell, Existing, Household, Problem, Task

from .instances import draw, household, task, uid
from .model import Requirement, can_be_met


def requirements(answer: Infeasible) -> set[Requirement]:
    """The set as an independent model names it."""
    found: set[Requirement] = {("task", each) for each in answer.tasks}
    found |= {("household", each) for each in answer.households}
    return found | {("pin", cell.household, cell.task) for cell in answer.pins}


def why(problem: Problem) -> Infeasible:
    answer = solve(problem)
    assert isinstance(answer, Infeasible)
    return answer


def freed(problem: Problem, way: Way) -> Problem:
    """The problem once a way out is gone."""

    def tasks(change: object) -> tuple[Task, ...]:
        return tuple(replace(t, **change) if t.uid == way.task else t for t in problem.tasks)  # type: ignore[arg-type]

    def households(change: object) -> tuple[Household, ...]:
        return tuple(replace(h, **change) if h.uid == way.household else h for h in problem.households)  # type: ignore[arg-type]

    least: dict[UUID, int] = {t.uid: t.least for t in problem.tasks} | {h.uid: h.least for h in problem.households}
    usual = {t.uid: t.usual for t in problem.tasks}
    most = {h.uid: h.most for h in problem.households}
    if way.remedy is Remedy.UNPIN:
        assert way.household is not None
        assert way.task is not None
        return replace(problem, pins=problem.pins - {Cell(way.household, way.task)})
    if way.remedy is Remedy.CLOSER_DAYS:
        return replace(problem, days_apart=0)
    if way.remedy is Remedy.FEWER_PEOPLE:
        assert way.task is not None
        return replace(problem, tasks=tasks({"least": least[way.task] - way.by}))
    if way.remedy is Remedy.MORE_ROOM:
        assert way.task is not None
        return replace(problem, tasks=tasks({"usual": usual[way.task] + way.by}))
    assert way.household is not None
    if way.remedy is Remedy.COMES_LESS:
        return replace(problem, households=households({"least": least[way.household] - way.by}))
    return replace(problem, households=households({"most": (most[way.household] or 0) + way.by}))


@given(st.integers(min_value=0, max_value=10**9))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_a_set_is_minimal_and_each_way_out_frees_it(seed: int) -> None:
    problem = draw(Random(seed))
    answer = solve(problem)
    if isinstance(answer, Plan):
        return
    needed = requirements(answer)
    assert not can_be_met(problem, needed)
    for each in needed:
        assert can_be_met(problem, needed - {each})
    for way in answer.ways:
        after = freed(problem, way)
        pins = {("pin", cell.household, cell.task) for cell in after.pins}
        assert can_be_met(after, {each for each in needed if each[0] != "pin" or each in pins})


def test_a_task_that_nobody_can_do_is_named_alone() -> None:
    homes = tuple(household(n, may={0, 2}, of=3) for n in range(4))
    answer = why(Problem(tuple(task(n, day=n) for n in range(3)), homes))
    assert (answer.tasks, answer.only_households, answer.short_by) == ((uid(1001),), (), 1)
    assert answer.ways == (Way(Remedy.FEWER_PEOPLE, 1, task=uid(1001)),)


def test_three_tasks_for_two_households_of_one_task_each_are_one_too_many() -> None:
    tasks = tuple(task(n, day=n, least=1) for n in range(4))
    homes = (
        household(0, may={0, 1, 2}, of=4, most=1),
        household(1, may={0, 1, 2}, of=4, most=1),
        household(2, may={3}, of=4),
    )
    answer = why(Problem(tasks, homes))
    assert answer.tasks == (uid(1000), uid(1001), uid(1002))
    assert answer.only_households == (uid(1), uid(2))
    assert Way(Remedy.DOES_MORE, 1, household=uid(1)) in answer.ways
    assert answer.short_by == 1


def test_two_people_lack_where_two_lack() -> None:
    answer = why(Problem((task(0, least=3, usual=3),), (household(0),)))
    assert (answer.tasks, answer.short_by) == ((uid(1000),), 2)
    assert answer.ways == (Way(Remedy.FEWER_PEOPLE, 2, task=uid(1000)),)


def test_a_pin_on_what_a_household_cannot_do_is_named() -> None:
    cell = Cell(uid(1), uid(1000))
    answer = why(Problem((task(0), task(1, day=1)), (household(0, may={1}, of=2), household(1)), frozenset({cell})))
    assert answer.pins == (cell,)
    assert answer.tasks == answer.households == ()
    assert answer.ways == (Way(Remedy.UNPIN, task=uid(1000), household=uid(1)),)


def test_a_pin_that_takes_the_last_pair_of_hands_is_named_with_the_task_that_lacks_them() -> None:
    cell = Cell(uid(1), uid(1001))
    homes = (household(0, most=1), household(1, may={2}, of=3))
    tasks = (task(0), task(1, day=1, least=0), task(2, day=2))
    answer = why(Problem(tasks, homes, frozenset({cell})))
    assert (answer.tasks, answer.pins) == ((uid(1000),), (cell,))
    assert Way(Remedy.UNPIN, task=uid(1001), household=uid(1)) in answer.ways


def test_the_rule_about_days_is_a_way_out_where_it_stands_in_the_way() -> None:
    tasks = (task(0, day=0), task(1, day=1))
    answer = why(Problem(tasks, (household(0),), days_apart=2))
    assert answer.tasks == (uid(1000), uid(1001))
    assert Way(Remedy.CLOSER_DAYS, 2) in answer.ways
    assert isinstance(solve(Problem(tasks, (household(0),), days_apart=1)), Plan)


def test_replanning_what_cannot_be_met_says_the_same_as_planning_it() -> None:
    problem = Problem(
        (task(0),), (household(0, may=set(), of=1),), existing=Existing(frozenset({Cell(uid(1), uid(1000))}))
    )
    assert replan(problem) == solve(problem)
