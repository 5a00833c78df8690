"""The hard rules, said once more and apart from the room: what a plan must keep, whatever it is best at."""

from collections import Counter
from itertools import combinations

from households.rota.plan import Plan
from households.rota.problem import Cell, Problem


def broken(problem: Problem, plan: Plan) -> list[str]:
    """Every rule that the plan breaks."""
    cells, now, frozen = set(plan.cells), problem.existing.cells, problem.existing.frozen
    known = {h.uid for h in problem.households}
    people, tasks_of = Counter(c.task for c in cells), Counter(c.household for c in cells)
    found = []
    if {c for c in cells if c.task in frozen} != {c for c in now if c.task in frozen and c.household in known}:
        found.append("a frozen task has other people")
    for t in problem.tasks:
        if t.uid not in frozen and not t.least <= people[t.uid] <= t.usual:
            found.append(f"{people[t.uid]} people at a task for {t.least} to {t.usual}")
    for h in problem.households:
        facts = sum(c.household == h.uid and c.task in frozen for c in now)
        if tasks_of[h.uid] < h.least or (h.most is not None and tasks_of[h.uid] > max(h.most, facts)):
            found.append(f"{tasks_of[h.uid]} tasks for a household that gets {h.least} to {h.most}")
        mine = [t for t in problem.tasks if Cell(h.uid, t.uid) in cells]
        for t in mine:
            if t.uid not in frozen and (t.uid in h.cannot or (t.heavy and not h.lifts)):
                found.append("a household does what it cannot")
        for one, other in combinations(mine, 2):
            if abs((one.day - other.day).days) < problem.days_apart and not {one.uid, other.uid} <= frozen:
                found.append("two tasks of a household are too close")
    if not problem.pins <= cells or any(c in problem.forbids and c.task not in frozen for c in cells):
        found.append("a pin or a forbid isn't kept")
    return found


def figures(problem: Problem, plan: Plan) -> dict[str, int]:
    """The value of every goal, counted anew from the plan's cells and loads."""
    tasks = {t.uid: t for t in problem.tasks}
    prefers = {h.uid: h.prefers for h in problem.households}
    given_out = [c for c in plan.cells if c.task not in problem.existing.frozen]
    ends = [load.ahead_after_seconds for load in plan.loads]
    return {
        "places": len(given_out),
        "minutes": sum(tasks[c.task].minutes for c in given_out),
        "largest": max(ends, default=0),
        "squares": sum(end * end for end in ends),
        "preferred": sum(c.task in prefers[c.household] for c in given_out),
        "kept": sum(c in problem.existing.cells for c in given_out),
    }
