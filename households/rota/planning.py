"""The room's doors: plan a period, or plan it again. Gives back a whole plan or the reason why there is none."""

from collections.abc import Sequence
from fractions import Fraction

from households.rota.branching import Branching
from households.rota.conflict import explain
from households.rota.due import due_seconds, jain
from households.rota.exchanges import Exchanges
from households.rota.grid import Grid, bits, lay_out
from households.rota.plan import Goal, Infeasible, Level, Load, Plan, Replan, Replans
from households.rota.problem import Cell, Problem

# After coverage. Where SQUARES stands, LARGEST goes before it.
FAIREST = (Goal.SQUARES, Goal.PREFERRED, Goal.KEPT)
FEWEST = (Goal.KEPT, Goal.SQUARES, Goal.PREFERRED)


def solve(problem: Problem) -> Plan | Infeasible:
    """The best plan: coverage, fairness, preferences, fewest changes, each fixed before the next. Undecided if the
    solver reaches its limit with neither a plan nor a proof that there is none (never where a flow answers)."""
    grid = lay_out(problem)
    return _plan(grid, FAIREST) or explain(grid)


def replan(problem: Problem) -> Replans | Infeasible:
    """Three plans beside `problem.existing`, all of the same, best coverage: the fewest changes first and fairness
    after them; the fairest, and of those the fewest changes; and halfway: the fewest changes with which nobody ends
    further ahead or behind than in the middle between those two. Undecided as in `solve`."""
    grid = lay_out(problem)
    fairest, fewest = _plan(grid, FAIREST), _plan(grid, FEWEST)
    if fairest is None or fewest is None:
        return explain(grid)
    halfway = _plan(grid, FEWEST, (fewest, fairest))
    assert halfway is not None
    return Replans(*(_beside(grid, plan) for plan in (fewest, halfway, fairest)))


def _plan(grid: Grid, order: Sequence[Goal], ends: tuple[Plan, Plan] | None = None) -> Plan | None:
    """The levels in the given order after coverage, if `ends` are given, halfway between them. None if infeasible."""
    if not grid.pins_stand:
        return None
    if len(grid.open_minutes) <= 1:
        plan = _search(Exchanges(grid), order, ends)
        # Without the rule about days it is best; so if it keeps the rule it is best with it.
        if plan is None or not _clashes(grid, plan):
            return plan
    return _search(Branching(grid), order, ends)


def _search(search: Exchanges | Branching, order: Sequence[Goal], ends: tuple[Plan, Plan] | None) -> Plan | None:
    grid = search.grid
    facts = sum(grid.minutes_of(mask) for mask in grid.facts)
    if ends is None:
        wanted = facts + sum(t * n for t, n in zip(grid.minutes, grid.usual, strict=True))
        if not search.cover(_ahead(grid, wanted)):
            return None
        levels = search.coverage()
        due = due_seconds(grid.households, facts + levels[1].value)
        ahead = _start(grid, due)
    else:
        fewest, fairest = ends
        due = [load.due_seconds for load in fairest.loads]
        ahead = _start(grid, due)
        levels = [level for level in fairest.levels if level.goal in (Goal.PLACES, Goal.MINUTES)]
        lowest, highest = _middle(fewest, fairest)
        have = [mask & ~facts for mask, facts in zip(grid.masks(frozenset(fairest.cells)), grid.facts, strict=True)]
        search.between(have, ahead, lowest, highest)
    for goal in order:
        if goal is Goal.SQUARES:
            levels += search.fair(ahead)
        elif goal is Goal.PREFERRED:
            levels.append(search.most(goal, grid.prefers))
        elif goal is Goal.KEPT and any(grid.kept):
            levels.append(search.most(goal, grid.kept))
    return _written(grid, search.have, due, levels)


def _ahead(grid: Grid, minutes: int) -> list[int]:
    """Seconds that each would be ahead with its facts alone, if so many minutes were covered."""
    return _start(grid, due_seconds(grid.households, minutes))


def _start(grid: Grid, due: Sequence[int]) -> list[int]:
    return [
        60 * (h.done_minutes + grid.minutes_of(facts)) - h.due_seconds - now
        for h, facts, now in zip(grid.households, grid.facts, due, strict=True)
    ]


def _middle(fewest: Plan, fairest: Plan) -> tuple[int, int]:
    """The least and most that anybody is to be ahead halfway: never tighter than the fairest plan is."""
    first, last = ([load.ahead_after_seconds for load in plan.loads] for plan in (fewest, fairest))
    low, high = (min(first) + min(last)) // 2, (max(first) + max(last)) // 2
    return min(low, *last), max(high, *last)


def _clashes(grid: Grid, plan: Plan) -> bool:
    masks = grid.masks(frozenset(plan.cells))
    return any(grid.clashing(mask, facts) for mask, facts in zip(masks, grid.facts, strict=True))


def _written(grid: Grid, have: Sequence[int], due: Sequence[int], levels: Sequence[Level]) -> Plan:
    loads, cells = [], []
    for household, facts, mask, now in zip(grid.households, grid.facts, have, due, strict=True):
        tasks = facts | mask
        minutes = grid.minutes_of(tasks)
        before = 60 * household.done_minutes - household.due_seconds
        loads.append(Load(household.uid, tasks.bit_count(), minutes, now, before, before + 60 * minutes - now))
        cells += [Cell(household.uid, grid.tasks[task].uid) for task in bits(tasks)]
    done = [h.done_minutes for h in grid.households]
    before_due = [h.due_seconds for h in grid.households]
    return Plan(
        cells=tuple(sorted(cells)),
        loads=tuple(loads),
        levels=tuple(levels),
        balance_before=_balance(done, before_due),
        balance_after=_balance(
            [d + load.minutes for d, load in zip(done, loads, strict=True)],
            [d + load.due_seconds for d, load in zip(before_due, loads, strict=True)],
        ),
    )


def _balance(minutes: Sequence[int], due: Sequence[int]) -> Fraction | None:
    return jain([Fraction(60 * done, owed) for done, owed in zip(minutes, due, strict=True) if owed])


def _beside(grid: Grid, plan: Plan) -> Replan:
    now, new = grid.problem.existing.cells, frozenset(plan.cells)
    known = {h.uid for h in grid.households}
    changed = {cell.household for cell in now ^ new} & known
    return Replan(plan, tuple(sorted(changed)), tuple(sorted(new - now)), tuple(sorted(now - new)))
