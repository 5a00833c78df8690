"""Why there is no plan: a smallest set of requirements that can't be met together, and what would free it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from households.rota.branching import Branching
from households.rota.exchanges import Exchanges
from households.rota.grid import Grid, bits, lay_out
from households.rota.plan import Infeasible, Remedy, Way
from households.rota.problem import Cell, Household, Problem, Task


@dataclass(frozen=True, slots=True, order=True)
class Requirement:
    """One thing that must be: a task's least number (`task`), a household's (`household`), or a pin (both)."""

    task: int | None
    household: int | None


def explain(grid: Grid) -> Infeasible:
    """A minimal set for an infeasible grid: without any one of its requirements the others can be met.

    Requirements are tried away in halves, then one by one; what can be done without is left out for good. Those of
    tasks in their order first, so that what stays is among the last that could.
    """
    everything = _requirements(grid)
    pins = [r for r in everything if r.task is not None and r.household is not None]
    for pin in pins:  # alone impossible: the household can't do it, or the task is frozen
        if not _met(grid, [pin]):
            return _told(grid, [pin])
    return _told(grid, _smallest(grid, [], everything, False))


def _requirements(grid: Grid) -> list[Requirement]:
    return [
        *(Requirement(t, None) for t, least in enumerate(grid.least) if least),
        *(Requirement(None, h) for h, must in enumerate(grid.must) if must),
        *(Requirement(t, h) for h, pins in enumerate(grid.pins) for t in bits(pins)),
    ]


def _smallest(
    grid: Grid, kept: Sequence[Requirement], candidates: Sequence[Requirement], kept_changed: bool
) -> list[Requirement]:
    """The part of `candidates` that is needed, beside `kept`, to stay impossible (divide and conquer, after
    QuickXplain)."""
    if kept_changed and not _met(grid, kept):
        return []
    if len(candidates) == 1:
        return list(candidates)
    middle = len(candidates) // 2
    first, second = candidates[:middle], candidates[middle:]
    of_second = _smallest(grid, [*kept, *first], second, True)
    of_first = _smallest(grid, [*kept, *of_second], first, bool(of_second))
    return [*of_first, *of_second]


def _met(grid: Grid, requirements: Sequence[Requirement]) -> bool:
    """Whether these can be met together, all others dropped; limits, forbids and "cannot" stay."""
    return _possible(_only(grid, requirements))


def _only(grid: Grid, requirements: Sequence[Requirement]) -> Problem:
    """The problem with these requirements alone."""
    tasks = {r.task for r in requirements if r.household is None}
    households = {r.household for r in requirements if r.task is None}
    return replace(
        grid.problem,
        tasks=tuple(t if n in tasks else replace(t, least=0) for n, t in enumerate(grid.tasks)),
        households=tuple(h if n in households else replace(h, least=0) for n, h in enumerate(grid.households)),
        pins=frozenset(_cell(grid, r) for r in requirements if r.task is not None and r.household is not None),
    )


def _cell(grid: Grid, pin: Requirement) -> Cell:
    assert pin.task is not None
    assert pin.household is not None
    return Cell(grid.households[pin.household].uid, grid.tasks[pin.task].uid)


def _possible(problem: Problem) -> bool:
    grid = lay_out(problem)
    if not grid.pins_stand or not Exchanges(grid).cover([0] * len(grid.households)):
        return False
    return not problem.days_apart or not any(grid.may) or Branching(grid).possible()


def _told(grid: Grid, found: Sequence[Requirement]) -> Infeasible:
    """The set in the terms of the problem, and each way out that was tried and frees it."""
    problem = _only(grid, found)
    tasks = [r.task for r in found if r.task is not None and r.household is None]
    households = [r.household for r in found if r.household is not None and r.task is None]
    pins = sorted(_cell(grid, r) for r in found if r.task is not None and r.household is not None)
    asked = {r.task for r in found if r.task is not None}
    sought = {r.household for r in found if r.household is not None}
    helpers = [n for n, may in enumerate(grid.may) if any(may >> task & 1 for task in asked)]
    places = [n for n in range(len(grid.tasks)) if any(grid.may[household] >> n & 1 for household in sought)]
    ways = [way for task in sorted(tasks) if (way := _fewer_people(problem, grid.tasks[task]))]
    ways += [way for household in sorted(households) if (way := _comes_less(problem, grid.households[household]))]
    short_by = min((way.by for way in ways), default=1)
    ways += [way for n in places if (way := _more_room(problem, grid.tasks[n], short_by))]
    ways += [way for n in helpers if (way := _does_more(problem, grid.households[n], short_by))]
    ways += [Way(Remedy.UNPIN, task=cell.task, household=cell.household) for cell in pins]
    if problem.days_apart and _possible(replace(problem, days_apart=0)):
        ways.append(Way(Remedy.CLOSER_DAYS, by=problem.days_apart))
    return Infeasible(
        tasks=tuple(grid.tasks[n].uid for n in sorted(tasks)),
        households=tuple(grid.households[n].uid for n in sorted(households)),
        pins=tuple(pins),
        only_households=tuple(grid.households[n].uid for n in helpers),
        only_tasks=tuple(grid.tasks[n].uid for n in places),
        short_by=short_by,
        ways=tuple(ways),
    )


def _fewer_people(problem: Problem, task: Task) -> Way | None:
    for by in range(1, task.least + 1):
        if _possible(_with_task(problem, replace(task, least=task.least - by))):
            return Way(Remedy.FEWER_PEOPLE, by, task=task.uid)
    return None


def _comes_less(problem: Problem, household: Household) -> Way | None:
    for by in range(1, household.least + 1):
        if _possible(_with_household(problem, replace(household, least=household.least - by))):
            return Way(Remedy.COMES_LESS, by, household=household.uid)
    return None


def _more_room(problem: Problem, task: Task, by: int) -> Way | None:
    now = next(t for t in problem.tasks if t.uid == task.uid)
    freed = _possible(_with_task(problem, replace(now, usual=now.usual + by)))
    return Way(Remedy.MORE_ROOM, by, task=task.uid) if freed else None


def _does_more(problem: Problem, household: Household, by: int) -> Way | None:
    now = next(h for h in problem.households if h.uid == household.uid)
    if now.most is None:
        return None
    freed = _possible(_with_household(problem, replace(now, most=now.most + by)))
    return Way(Remedy.DOES_MORE, by, household=household.uid) if freed else None


def _with_task(problem: Problem, task: Task) -> Problem:
    return replace(problem, tasks=tuple(task if t.uid == task.uid else t for t in problem.tasks))


def _with_household(problem: Problem, household: Household) -> Problem:
    others = tuple(household if h.uid == household.uid else h for h in problem.households)
    return replace(problem, households=others)
