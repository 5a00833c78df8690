"""How much longer a plain binary model takes for the same rota: ratios, and how the rota's time grows with households.

Run by deploy/bench, after bench.py. Twelve weeks of 21 slots, 1 to 2 people each; the model beside it has one binary a
cell, is solved by HiGHS level by level, each level a constraint of the next, and only the solver's own time counts. It
is spared the level that equal minutes make needless. Both must find the same values.
"""

import sys
import time
from datetime import date, timedelta
from pathlib import Path
from random import Random
from statistics import median
from uuid import UUID

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import highspy
import numpy as np

from households.rota.due import due_seconds
from households.rota.plan import Goal, Plan
from households.rota.planning import solve
from households.rota.problem import Cell, Existing, Household, Problem, Task

SLOTS, WEEKS = 21, 12
HOUSEHOLDS = (60, 500)
GOALS = {60: 3, 500: 10}  # times slower than ours that the plain model is expected to be, at least
GROWTH = 12  # times longer that 500 households may take than 60
ROUNDS = 5  # ours; the plain model runs once at each size, since it takes minutes
LIMIT_SECONDS = 300.0  # for one level of the plain model


def main() -> None:
    ours: dict[int, float] = {}
    for number in HOUSEHOLDS:
        problem = block(number)
        times = []
        for _ in range(ROUNDS):
            began = time.perf_counter()
            plan = solve(problem)
            times.append(time.perf_counter() - began)
        if not isinstance(plan, Plan):
            sys.exit("The invented block cannot be planned.")
        ours[number] = median(times)
        seconds, finished = plain_model(problem, plan)
        ratio = seconds / ours[number]
        least = "" if finished else "at least "
        said = f"A plain binary model / the rota, {number} households x {SLOTS} slots x {WEEKS} weeks"
        missed = "" if ratio >= GOALS[number] else "; MISSED"
        tell(f"{said}: {least}{ratio:.1f} times (goal {GOALS[number]}{missed}; {ours[number]:.2f} s)")
    few, many = HOUSEHOLDS
    growth = ours[many] / ours[few]
    missed = "" if growth <= GROWTH else "; MISSED"
    tell(f"The rota, {many} households / {few}: {growth:.1f} times (at most {GROWTH}{missed})")


def tell(sentence: str) -> None:
    print(sentence, flush=True)  # noqa: T201 (its answer)


def block(number: int) -> Problem:
    """A block of so many households with histories, absences and wishes, and a plan in force that needs mending."""
    rng = Random(21)  # noqa: S311 (nothing secret)
    first = date(2026, 5, 4)
    slots = [(week, slot) for week in range(WEEKS) for slot in range(SLOTS)]
    tasks = tuple(
        Task(UUID(int=10_000 + n), first + timedelta(days=7 * week + slot * 7 // SLOTS), 30, heavy=rng.random() < 0.1)
        for n, (week, slot) in enumerate(slots)
    )
    households = []
    for n in range(number):
        away = rng.randrange(7 * WEEKS) if rng.random() < 0.8 else None
        gone = {first + timedelta(days=away + d) for d in range(14)} if away is not None else set()
        cannot = frozenset(t.uid for t in tasks if t.day in gone or rng.random() < 0.1)
        prefers = frozenset(t.uid for t in tasks if rng.random() < 0.15)
        history = rng.randrange(40)
        households.append(
            Household(
                UUID(int=1 + n),
                days_present=7 * WEEKS - len(gone),
                done_minutes=30 * history,
                due_seconds=60 * 30 * history + rng.randrange(-1800, 1800) * (history > 0),
                cannot=cannot,
                prefers=prefers,
                lifts=rng.random() < 0.9,
            )
        )
    now = frozenset(Cell(rng.choice(households).uid, t.uid) for t in tasks for _ in range(2))
    return Problem(tasks, tuple(households), existing=Existing(now))


class PlainModel:
    """One binary a cell, and a row for each task and household."""

    def __init__(self, problem: Problem) -> None:
        self.cells = [
            Cell(h.uid, t.uid)
            for h in problem.households
            for t in problem.tasks
            if t.uid not in h.cannot and (h.lifts or not t.heavy)
        ]
        self.number = {cell: n for n, cell in enumerate(self.cells)}
        self.solver = highspy.Highs()
        for option, value in (("output_flag", False), ("mip_rel_gap", 0.0), ("time_limit", LIMIT_SECONDS)):
            self.solver.setOptionValue(option, value)
        self.seconds = 0.0
        self.finished = True
        self._columns(len(self.cells), whole=True)
        by_task: dict[UUID, list[int]] = {t.uid: [] for t in problem.tasks}
        self.by_household: dict[UUID, list[int]] = {h.uid: [] for h in problem.households}
        for n, cell in enumerate(self.cells):
            by_task[cell.task].append(n)
            self.by_household[cell.household].append(n)
        for t in problem.tasks:
            self.row(t.least, t.usual, dict.fromkeys(by_task[t.uid], 1.0))

    def _columns(self, count: int, whole: bool) -> list[int]:
        start = self.solver.getNumCol()
        none = np.zeros(0, dtype=np.int32)
        self.solver.addCols(
            count,
            np.zeros(count),
            np.zeros(count),
            np.ones(count),
            0,
            np.zeros(count, dtype=np.int32),
            none,
            np.zeros(0),
        )
        columns = list(range(start, start + count))
        if whole:
            kinds = np.array([highspy.HighsVarType.kInteger] * count)
            self.solver.changeColsIntegrality(count, np.array(columns, dtype=np.int32), kinds)
        return columns

    def row(self, lower: float, upper: float, weights: dict[int, float]) -> None:
        index, values = np.array(list(weights), dtype=np.int32), np.array(list(weights.values()))
        self.solver.addRow(float(lower), float(upper), len(index), index, values)

    def best(self, costs: dict[int, float]) -> float:
        """The least sum of costs, kept from now on."""
        total = self.solver.getNumCol()
        dense = np.zeros(total)
        dense[list(costs)] = list(costs.values())
        self.solver.changeColsCost(total, np.arange(total, dtype=np.int32), dense)
        began = time.perf_counter()
        self.solver.run()
        self.seconds += time.perf_counter() - began
        self.finished &= self.solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        value = float(self.solver.getInfo().objective_function_value)
        self.row(-np.inf, value + 1e-6 * max(1.0, abs(value)), costs)
        return value

    def step_columns(self, household: UUID, ends: list[int]) -> dict[int, float]:
        """A column for each task more of a household, with what it adds to the square of where it ends (hours)."""
        columns = self._columns(len(ends) - 1, whole=False)
        self.row(0, 0, dict.fromkeys(self.by_household[household], 1.0) | dict.fromkeys(columns, -1.0))
        hours = [end / 3600 for end in ends]
        return {column: hours[k + 1] ** 2 - hours[k] ** 2 for k, column in enumerate(columns)}


def plain_model(problem: Problem, plan: Plan) -> tuple[float, bool]:
    """The solver's seconds for the same levels, and whether it finished them all. Exits if it finds other values."""
    model = PlainModel(problem)
    places = round(-model.best(dict.fromkeys(range(len(model.cells)), -1.0)))
    minutes = problem.tasks[0].minutes
    due = due_seconds(problem.households, places * minutes)
    costs: dict[int, float] = {}
    at_first = 0.0
    for h, seconds in zip(problem.households, due, strict=True):
        start = 60 * h.done_minutes - h.due_seconds - seconds
        at_first += (start / 3600) ** 2
        most = min(len(model.by_household[h.uid]), 40)
        costs |= model.step_columns(h.uid, [start + 60 * minutes * k for k in range(most + 1)])
    squares = at_first + model.best(costs)
    wishes = {h.uid: h.prefers for h in problem.households}
    preferred = -model.best({n: -1.0 for n, c in enumerate(model.cells) if c.task in wishes[c.household]})
    kept = -model.best({n: -1.0 for n, c in enumerate(model.cells) if c in problem.existing.cells})
    theirs = (places, squares, round(preferred), round(kept))
    found = (
        plan.value(Goal.PLACES),
        plan.value(Goal.SQUARES) / 3600**2,
        plan.value(Goal.PREFERRED),
        plan.value(Goal.KEPT),
    )
    if model.finished and any(abs(a - b) > 1e-4 * max(1, abs(a)) for a, b in zip(found, theirs, strict=True)):
        sys.exit(f"The two disagree: {found} and {theirs}")
    return model.seconds, model.finished


if __name__ == "__main__":
    main()
