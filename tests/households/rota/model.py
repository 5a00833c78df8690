"""The same problem for OR-Tools' CP-SAT, written from the statement of the levels alone.

Nothing of the room is used here but the problem's own dataclasses. One level is solved to the end, then becomes a
constraint.
"""

from collections.abc import Sequence
from itertools import combinations
from math import gcd
from uuid import UUID

from ortools.sat.python import cp_model

from households.rota.problem import Cell, Problem

Requirement = tuple[str, UUID] | tuple[str, UUID, UUID]


class Model:
    """A CP-SAT model of the cells. `needed`: the requirements that count, all of them if None."""

    def __init__(self, problem: Problem, needed: set[Requirement] | None = None) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self.at: dict[Cell, cp_model.IntVar] = {}
        tasks = {t.uid: t for t in problem.tasks}
        frozen, now = problem.existing.frozen, problem.existing.cells

        def needs(*requirement: object) -> bool:
            return needed is None or requirement in needed

        for h in problem.households:
            for t in problem.tasks:
                cell = Cell(h.uid, t.uid)
                self.at[cell] = at = self.model.new_bool_var("")
                barred = t.uid in h.cannot or cell in problem.forbids or (t.heavy and not h.lifts)
                if t.uid in frozen:
                    self.model.add(at == int(cell in now))
                elif barred:
                    self.model.add(at == 0)
                if cell in problem.pins and needs("pin", h.uid, t.uid):
                    self.model.add(at == 1)
            mine = [self.at[Cell(h.uid, t.uid)] for t in problem.tasks]
            facts = sum(Cell(h.uid, t) in now for t in frozen)
            if needs("household", h.uid):
                self.model.add(sum(mine) >= h.least)
            if h.most is not None:
                self.model.add(sum(mine) <= max(h.most, facts))
            for one, other in combinations(problem.tasks, 2):
                if abs((one.day - other.day).days) < problem.days_apart and not {one.uid, other.uid} <= frozen:
                    self.model.add(self.at[Cell(h.uid, one.uid)] + self.at[Cell(h.uid, other.uid)] <= 1)
        for t in problem.tasks:
            if t.uid not in frozen:
                there = [self.at[Cell(h.uid, t.uid)] for h in problem.households]
                self.model.add(sum(there) <= t.usual)
                if needs("task", t.uid):
                    self.model.add(sum(there) >= t.least)
        self.minutes = {
            h.uid: sum(tasks[c.task].minutes * x for c, x in self.at.items() if c.household == h.uid)
            for h in problem.households
        }

    def best(self, aim: object, most: bool = True) -> int | None:
        """The best value of a sum, which is kept from now on; None if there is no plan."""
        (self.model.maximize if most else self.model.minimize)(aim)  # type: ignore[arg-type]
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        assert status == cp_model.OPTIMAL, solver.status_name()
        value = round(solver.objective_value)
        self.model.add(aim == value)  # type: ignore[arg-type]
        return value


FAIREST = ("largest", "squares", "preferred", "kept")


def levels(
    problem: Problem, order: Sequence[str] = FAIREST, between: tuple[int, int] | None = None
) -> dict[str, int] | None:
    """The value of every level, or None where nothing meets all requirements. `between`: how far ahead of what is due
    households may end, at least and at most, in seconds."""
    model = Model(problem)
    frozen = problem.existing.frozen
    minutes = {t.uid: t.minutes for t in problem.tasks}
    open_cells = {c: x for c, x in model.at.items() if c.task not in frozen}
    places = model.best(sum(open_cells.values()))
    if places is None:
        return None
    found = {"places": places}
    covered = model.best(sum(minutes[c.task] * x for c, x in open_cells.items()))
    assert covered is not None
    found["minutes"] = covered
    known = {h.uid for h in problem.households}
    facts = sum(minutes[c.task] for c in problem.existing.cells if c.task in frozen and c.household in known)
    due = divided(problem, covered + facts)
    far = 10**6
    step = gcd(*minutes.values())
    most = sum(minutes.values()) // step
    ahead, squared = [], []
    for h in problem.households:
        start = 60 * h.done_minutes - h.due_seconds - due[h.uid]
        steps = model.model.new_int_var(0, most, "")
        model.model.add(step * steps == model.minutes[h.uid])
        square = model.model.new_int_var(0, far * far, "")
        model.model.add_element(steps, [(start + 60 * step * k) ** 2 for k in range(most + 1)], square)
        ahead.append(start + 60 * step * steps)
        squared.append(square)
    if between:
        for end in ahead:
            model.model.add(end >= between[0])
            model.model.add(end <= between[1])
    largest = model.model.new_int_var(-far, far, "")
    model.model.add_max_equality(largest, ahead)
    prefers = {h.uid: h.prefers for h in problem.households}
    wishes = {
        "largest": (largest, False),
        "squares": (sum(squared), False),
        "preferred": (sum(x for c, x in open_cells.items() if c.task in prefers[c.household]), True),
        "kept": (sum(x for c, x in open_cells.items() if c in problem.existing.cells), True),
    }
    for name in order:
        value = model.best(*wishes[name])
        assert value is not None
        found[name] = value
    return found


def divided(problem: Problem, minutes: int) -> dict[UUID, int]:
    """Seconds due from each: in proportion to days present, largest remainders, then by uid."""
    days = sum(h.days_present for h in problem.households)
    if not days:
        return {h.uid: 0 for h in problem.households}
    exact = {h.uid: divmod(60 * minutes * h.days_present, days) for h in problem.households}
    due = {uid: whole for uid, (whole, _) in exact.items()}
    spare = 60 * minutes - sum(due.values())
    for uid in sorted(exact, key=lambda uid: (-exact[uid][1], uid))[:spare]:
        due[uid] += 1
    return due


def can_be_met(problem: Problem, needed: set[Requirement]) -> bool:
    """Whether these requirements can be met together, all others dropped."""
    return Model(problem, needed).best(0) is not None
