"""A search by branch and bound (HiGHS), level by level: for tasks of unequal minutes, or kept days apart.

One binary a cell. Every level is one model with the levels before it as constraints; where the solver stops at its
limit, the best plan found goes on and the bound that stands is kept beside its value.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, gcd, inf, isfinite

import highspy
import numpy as np
import numpy.typing as npt

from households.rota.grid import Grid, bits
from households.rota.plan import Goal, Level, Method
from households.rota.trading import level_out, trade

# When one level stops: after so many of the solver's own pauses, fewer where each takes longer. Counted, not timed, so
# that the same problem stops at the same place on every machine. Chosen: some 5 seconds at every size.
PAUSES_BY_CELLS, FEWEST_PAUSES, MOST_PAUSES = 200_000, 15, 1_000
SECONDS = 120.0  # if even the pauses fail; a plan cut short by it may come out otherwise the next time. Chosen
PATIENCE = 10  # where there is no plan yet, or none at all: without an answer nothing can be said. Chosen
CLOSE = 1e-4  # all goals are whole numbers: a bound so near to one means it
NONE = {highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible}
ENDED = {
    highspy.HighsModelStatus.kOptimal,
    highspy.HighsModelStatus.kInterrupt,
    highspy.HighsModelStatus.kTimeLimit,
}


class Undecided(RuntimeError):
    """The solver reached its limit with neither a plan nor a proof that there is none."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a run of the solver says: whether there is a plan (None: not known), and the best that is possible."""

    plan: bool | None
    bound: float


class Branching:
    """One plan on its way through the levels. `have`: by household, its tasks as bits, those that are facts left
    out."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self.have = [0] * len(grid.households)
        self.cells = [(h, t) for h, may in enumerate(grid.may) for t in bits(may)]
        self.column = {cell: number for number, cell in enumerate(self.cells)}
        self.grain = gcd(*(grid.minutes[t] for _, t in self.cells)) if self.cells else 1
        self.goals: list[Sequence[int]] = []  # the cells that levels up to now were about
        self.steps: list[list[int]] = []  # by household: the columns that count its minutes up, once fairness is asked
        self.solver = highspy.Highs()
        for option, value in (
            ("output_flag", False),
            ("threads", 1),
            ("mip_rel_gap", 0.0),
            ("mip_abs_gap", 0.5),  # whole numbers: less than 1 apart is equal
            ("time_limit", SECONDS),
        ):
            self.solver.setOptionValue(option, value)
        pauses = PAUSES_BY_CELLS // max(1, len(self.cells))
        self.most_pauses = min(MOST_PAUSES, max(FEWEST_PAUSES, pauses))
        self.pauses = 0
        self.solver.cbMipInterrupt += self._pause
        self._add_cells()
        self._add_rules()

    def _pause(self, event: highspy.HighsCallbackEvent) -> None:
        self.pauses += 1
        event.interrupt(self.pauses > self.most_pauses)

    def _add_cells(self) -> None:
        lower = np.array([float(self.grid.pins[h] >> t & 1) for h, t in self.cells])
        number = len(self.cells)
        empty = np.array([], dtype=np.int32)
        self.solver.addCols(
            number, np.zeros(number), lower, np.ones(number), 0, np.zeros(number, dtype=np.int32), empty, np.array([])
        )
        columns = np.arange(number, dtype=np.int32)
        self.solver.changeColsIntegrality(number, columns, np.array([highspy.HighsVarType.kInteger] * number))

    def _add_rules(self) -> None:
        grid = self.grid
        by_task: list[list[int]] = [[] for _ in grid.tasks]
        for number, (_, task) in enumerate(self.cells):
            by_task[task].append(number)
        for task, columns in enumerate(by_task):
            if grid.usual[task]:
                self._row(grid.least[task], grid.usual[task], columns)
        for household, may in enumerate(grid.may):
            self._row(grid.must[household], grid.most[household], [self.column[household, t] for t in bits(may)])
            for window in self._windows(may):
                self._row(-inf, 1, [self.column[household, t] for t in window])

    def _windows(self, may: int) -> Iterable[list[int]]:
        """Tasks of which a household may get one: those within days_apart days, from each day on."""
        tasks, apart = self.grid.tasks, self.grid.problem.days_apart
        mine = bits(may)
        last: list[int] = []
        for first, task in enumerate(mine):
            day = tasks[task].day
            window = [t for t in mine[first:] if (tasks[t].day - day).days < apart]
            if len(window) > 1 and (not last or window[-1] != last[-1]):
                yield window
                last = window

    def _row(self, lower: float, upper: float, columns: Sequence[int], values: Sequence[float] | None = None) -> None:
        index = np.array(columns, dtype=np.int32)
        weights = np.ones(len(index)) if values is None else np.array(values, dtype=np.float64)
        self.solver.addRow(float(lower), float(upper), len(index), index, weights)

    def _run(self, costs: dict[int, float], most: bool = False, patience: int = 1) -> Found:
        """Solves for the least (or most) sum of costs, and takes over the plan that is found. `patience`: how many
        times longer than usual it may take."""
        total = self.solver.getNumCol()
        dense = np.zeros(total)
        for column, cost in costs.items():
            dense[column] = cost
        self.solver.changeColsCost(total, np.arange(total, dtype=np.int32), dense)
        sense = highspy.ObjSense.kMaximize if most else highspy.ObjSense.kMinimize
        self.solver.changeObjectiveSense(sense)
        self._hint()
        self._solve(patience)
        if not self._honest(dense):
            self.solver.clearSolver()  # forgets the hint
            self._solve(patience)
        status, info = self.solver.getModelStatus(), self.solver.getInfo()
        if status in NONE:
            return Found(False, inf)
        if status not in ENDED:
            raise Undecided(f"the solver failed: {self.solver.modelStatusToString(status)}")
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return Found(None, info.mip_dual_bound)
        values = self.solver.getSolution().col_value
        have = [0] * len(self.have)
        for number, (household, task) in enumerate(self.cells):
            if values[number] > 0.5:
                have[household] |= 1 << task
        self.have = have
        return Found(True, info.mip_dual_bound)

    def _solve(self, patience: int) -> None:
        self.pauses = -(patience - 1) * self.most_pauses
        self.solver.run()

    def _honest(self, costs: npt.NDArray[np.float64]) -> bool:
        """Whether the plan that the solver hands out is the one whose value it states. With a hint it isn't always: it
        was seen to state the better value and to hand the hint back (HiGHS 1.16.0)."""
        info = self.solver.getInfo()
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return True
        worth = float(costs @ np.array(self.solver.getSolution().col_value))
        return abs(worth - info.objective_function_value) < 0.5

    def _hint(self) -> None:
        """Shows the solver the plan of the level before: it holds for this level too."""
        if not any(self.have):
            return
        solution = highspy.HighsSolution()
        values = [float(self.have[h] >> t & 1) for h, t in self.cells]
        for household, steps in enumerate(self.steps):
            full = self.grid.minutes_of(self.have[household]) // self.grain
            values += [1.0] * full + [0.0] * (len(steps) - full)
        solution.col_value = values
        self.solver.setSolution(solution)

    def cover(self, ahead: Sequence[int]) -> bool:
        """Fills the most places, then covers the most minutes. False: the least numbers can't be met. Undecided if the
        solver finds neither. (`ahead`: as in the search by exchanges; of no use here.)"""
        ones = dict.fromkeys(range(len(self.cells)), 1.0)
        found = self._run(ones, most=True, patience=PATIENCE)
        if found.plan is None:
            raise Undecided("neither a plan within the limit nor a proof that there is none")
        if not found.plan:
            return False
        places = sum(mask.bit_count() for mask in self.have)
        self._levels = [Level(Goal.PLACES, places, max(places, floor(found.bound + CLOSE)), Method.SOLVER)]
        self._row(places, places, list(ones))
        weights = {number: float(self.grid.minutes[task] // self.grain) for number, (_, task) in enumerate(self.cells)}
        minutes = sum(self.grid.minutes_of(mask) for mask in self.have)
        bound = minutes
        if len(set(weights.values())) > 1:
            before = self.have
            found = self._run(weights, most=True)
            self.have = max(self.have, before, key=lambda have: sum(map(self.grid.minutes_of, have)))
            minutes = sum(self.grid.minutes_of(mask) for mask in self.have)
            bound = max(minutes, floor(found.bound + CLOSE) * self.grain if isfinite(found.bound) else minutes)
        self._levels.append(Level(Goal.MINUTES, minutes, bound, Method.SOLVER))
        self._row(minutes // self.grain, minutes // self.grain, list(weights), list(weights.values()))
        return True

    def possible(self) -> bool:
        """Whether there is any plan at all. Undecided if the solver can't tell."""
        found = self._run({}, patience=PATIENCE)
        if found.plan is None:
            raise Undecided("neither a plan within the limit nor a proof that there is none")
        return found.plan

    def coverage(self) -> list[Level]:
        """The places and minutes covered, facts left out."""
        return self._levels

    def between(self, have: Sequence[int], ahead: Sequence[int], lowest: int, highest: int) -> None:
        """Begins at a covering plan whose households all end between `lowest` and `highest` seconds ahead, or where
        they must, and keeps them there."""
        self.have = list(have)
        minutes = sum(self.grid.minutes_of(mask) for mask in have) // self.grain
        everything = list(range(len(self.cells)))
        self._row(sum(mask.bit_count() for mask in have), inf, everything)
        self._row(minutes, inf, everything, [self.grid.minutes[t] // self.grain for _, t in self.cells])
        step = 60 * self.grain
        for household, (mask, seconds) in enumerate(zip(have, ahead, strict=True)):
            now = self.grid.minutes_of(mask) // self.grain
            tasks = bits(self.grid.may[household])
            self._row(
                min(now, -((seconds - lowest) // step)),
                max(now, (highest - seconds) // step),
                [self.column[household, t] for t in tasks],
                [self.grid.minutes[t] // self.grain for t in tasks],
            )

    def fair(self, ahead: Sequence[int]) -> list[Level]:
        """The smallest largest load, then the least sum of squares; `ahead` in seconds, by household, without any task.

        Loads are whole steps of the tasks' common divisor, so there are few values that the largest can have. The
        smallest that isn't absurd is nearly always possible; where it isn't, halving finds the one that is.
        """
        step = 60 * self.grain
        before = self.have = level_out(self.grid, self.have, ahead, self.goals)
        now = [self.grid.minutes_of(mask) // self.grain for mask in self.have]
        total = sum(now)
        largest, _ = self._unfair(before, ahead)
        room = [(largest - a) // step for a in ahead]
        values = sorted(
            {a + step * k for a, most in zip(ahead, room, strict=True) for k in range(most + 1)} | {largest}
        )
        lowest = max([*self._ends(self.grid.pins, ahead), values[0]])
        first = bisect_left(
            values, True, key=lambda top: top >= lowest and sum(max(0, (top - a) // step) for a in ahead) >= total
        )
        costs = self._count_steps(ahead, room, total)
        found = self._below(values[first], ahead, costs)
        ruled_out, top = first - 1, first
        if not found.plan:
            ruled_out = first if found.plan is False else ruled_out
            low, top = first, bisect_left(values, largest)
            while top - low > 1:
                middle = (low + top) // 2
                halved = self._below(values[middle], ahead, {})
                if halved.plan:
                    top = middle
                else:
                    ruled_out = middle if halved.plan is False else ruled_out
                    low = middle
            found = self._below(values[top], ahead, costs)
        self.have = min(self.have, before, key=lambda have: self._unfair(have, ahead))
        ends = self._ends(self.have, ahead)
        squares, at_first = sum(end * end for end in ends), sum(a * a for a in ahead)
        spent = (squares - at_first) // step
        bound = max(
            -(at_first // step), min(spent, ceil(found.bound - CLOSE) if isfinite(found.bound) else spent - squares)
        )
        self._row(-inf, spent, list(costs), list(costs.values()))
        return [
            Level(Goal.LARGEST, max(ends, default=0), values[min(ruled_out + 1, len(values) - 1)], Method.SOLVER),
            Level(Goal.SQUARES, squares, squares - step * (spent - bound), Method.SOLVER),
        ]

    def _ends(self, have: Sequence[int], ahead: Sequence[int]) -> list[int]:
        return [a + 60 * self.grid.minutes_of(mask) for a, mask in zip(ahead, have, strict=True)]

    def _unfair(self, have: Sequence[int], ahead: Sequence[int]) -> tuple[int, int]:
        ends = self._ends(have, ahead)
        return max(ends, default=0), sum(end * end for end in ends)

    def _count_steps(self, ahead: Sequence[int], room: Sequence[int], total: int) -> dict[int, float]:
        """A column for each step of each household's minutes, with what the step adds to the sum of squares, in
        steps: the first is always the cheapest, so they fill up in order by themselves."""
        step = 60 * self.grain
        costs: dict[int, float] = {}
        for household, (seconds, most) in enumerate(zip(ahead, room, strict=True)):
            start = self.solver.getNumCol()
            number = min(most, total)
            mine = list(range(start, start + number))
            self.steps.append(mine)
            costs |= {column: float(2 * seconds + step * (2 * k + 1)) for k, column in enumerate(mine)}
            for _ in mine:
                self.solver.addVar(0.0, 1.0)
            tasks = bits(self.grid.may[household])
            columns = [self.column[household, t] for t in tasks] + mine
            weights = [self.grid.minutes[t] // self.grain for t in tasks] + [-1] * number
            self._row(0, 0, columns, weights)
        return costs

    def _below(self, top: int, ahead: Sequence[int], costs: dict[int, float]) -> Found:
        """A plan in which nobody ends above `top` seconds ahead, the one of least costs."""
        step = 60 * self.grain
        for mine, seconds in zip(self.steps, ahead, strict=True):
            for k, column in enumerate(mine):
                self.solver.changeColBounds(column, 0.0, 1.0 if seconds + step * (k + 1) <= top else 0.0)
        return self._run(costs)

    def most(self, goal: Goal, gains: Sequence[int]) -> Level:
        """The most cells of `gains` (tasks by household, as bits)."""
        ones = {number: 1.0 for number, (h, t) in enumerate(self.cells) if gains[h] >> t & 1}
        self.goals.append(gains)
        before = self.have = trade(self.grid, self.have, self.goals)
        found = self._run(ones, most=True)

        def gained(have: Sequence[int]) -> int:
            return sum((mask & gain).bit_count() for mask, gain in zip(have, gains, strict=True))

        self.have = max(self.have, before, key=gained)  # cut short, the solver may hand out less than it was shown
        value = gained(self.have)
        bound = floor(found.bound + CLOSE) if isfinite(found.bound) else len(ones)
        self._row(value, inf, list(ones))
        return Level(goal, value, max(value, bound), Method.SOLVER)
