"""Three hundred problems beside an independent solver, every conflict checked, and two years of absences.

Run by `sh deploy/prove rota`.
"""

import datetime as dt
from collections import Counter
from random import Random
from uuid import UUID

import pytest

from households.rota.due import due_seconds
from households.rota.plan import Infeasible, Plan, Replans
from households.rota.planning import replan, solve
from households.rota.problem import Household, Problem, Task
from tests.households.rota.checks import broken, figures
from tests.households.rota.instances import draw, uid
from tests.households.rota.model import can_be_met, levels
from tests.households.rota.test_conflict import requirements

from .record import record

pytestmark = pytest.mark.proof
PROBLEMS, THREEFOLD = 300, 100
HOMES, LIMITED, MONTHS = 28, 4, 24
ABSENT = 0.12
FEWEST = ("kept", "largest", "squares", "preferred")
Figures = dict[str, object]


def test_rota_is_exact_explains_itself_and_does_not_drift() -> None:
    compared = beside_an_independent_solver()
    alike = two_years(HOMES, (20,))
    mixed = two_years(14, (10, 15, 30))
    figures = {"beside OR-Tools": compared, "24 months, one kind": alike, "24 months, three kinds": mixed}
    print(figures)
    trials = PROBLEMS + sum(int(str(compared[name])) for name in ("infeasible", "planned again"))
    record("rota", ["households/rota"], trials, {}, figures)


def beside_an_independent_solver() -> Figures:
    """Every level of so many plans that can be, and the minimal set of every one between them that can't."""
    found: Counter[str] = Counter()
    for seed in range(10**6):
        if found["feasible"] == PROBLEMS:
            break
        problem = draw(Random(seed))
        answer, theirs = solve(problem), levels(problem)
        if theirs is None:
            assert isinstance(answer, Infeasible), seed
            proved_minimal(problem, answer, seed)
            found["infeasible"] += 1
            found["requirements in sets"] += len(requirements(answer))
            continue
        assert isinstance(answer, Plan), seed
        same(problem, answer, theirs, seed)
        found["feasible"] += 1
        found[f"by {answer.levels[0].method}"] += 1
        found["levels"] += len(answer.levels)
        if problem.existing.cells and found["planned again"] < THREEFOLD:
            three_times(problem, seed)
            found["planned again"] += 1
    return dict(found)


def same(problem: Problem, plan: Plan, theirs: dict[str, int], seed: int) -> None:
    ours = {level.goal.value: level.value for level in plan.levels}
    assert ours == {name: value for name, value in theirs.items() if name in ours}, seed
    assert figures(problem, plan) == figures(problem, plan) | ours, seed
    assert plan.proved, seed
    assert broken(problem, plan) == [], seed


def three_times(problem: Problem, seed: int) -> None:
    """The fewest changes, halfway and the fairest are each what the independent model finds."""
    three = replan(problem)
    assert isinstance(three, Replans), seed
    ends = [
        [load.ahead_after_seconds for load in each.plan.loads] for each in (three.fewest, three.halfway, three.fairest)
    ]
    low, high = (min(ends[0]) + min(ends[2])) // 2, (max(ends[0]) + max(ends[2])) // 2
    between = min(low, *ends[2]), max(high, *ends[2])
    for each, theirs in (
        (three.fewest, levels(problem, FEWEST)),
        (three.halfway, levels(problem, FEWEST, between)),
        (three.fairest, levels(problem)),
    ):
        assert theirs is not None, seed
        same(problem, each.plan, theirs, seed)


def proved_minimal(problem: Problem, answer: Infeasible, seed: int) -> None:
    needed = requirements(answer)
    assert not can_be_met(problem, needed), seed
    for each in needed:
        assert can_be_met(problem, needed - {each}), (seed, each)


def two_years(homes: int, kinds: tuple[int, ...]) -> Figures:
    """The largest distance from what is due at the end of any of 24 months, among households that only absence limits:
    by the rota, and by plain rotation, where whoever is away is passed over."""
    rng = Random(2026)
    away = absences(rng, homes)
    everybody, limited = [uid(1 + n) for n in range(homes)], {uid(1 + n) for n in range(LIMITED)}
    done, due, rotated = Counter[UUID](), Counter[UUID](), Counter[UUID]()
    worst = worst_rotation = next_one = 0
    for month in range(MONTHS):
        days = days_of(month)
        tasks = tuple(
            Task(uid(10_000 + 100 * month + n), day, kinds[n % len(kinds)], usual=1 + (n % 7 == 0), heavy=n % 5 == 0)
            for n, day in enumerate(days)
        )
        households = tuple(
            Household(
                home,
                days_present=sum(day not in away[home] for day in days),
                done_minutes=done[home],
                due_seconds=due[home],
                cannot=frozenset(
                    t.uid for n, t in enumerate(tasks) if t.day in away[home] or (home in limited and n % 3 == 0)
                ),
                lifts=home not in limited,
            )
            for home in everybody
        )
        plan = solve(Problem(tasks, households))
        assert isinstance(plan, Plan)
        minutes = sum(load.minutes for load in plan.loads)
        for home, seconds in zip(everybody, due_seconds(households, minutes), strict=True):
            due[home] += seconds
        for load in plan.loads:
            done[load.household] += load.minutes
        for task in tasks:
            for _ in range(task.usual):
                next_one = rotate(task, households, next_one, rotated)
        free = [home for home in everybody if home not in limited]
        worst = max(worst, *(abs(60 * done[home] - due[home]) for home in free))
        worst_rotation = max(worst_rotation, *(abs(60 * rotated[home] - due[home]) for home in free))
    share = sum(len(away[home]) for home in everybody) / (homes * sum(len(days_of(month)) for month in range(MONTHS)))
    assert abs(share - ABSENT) < 0.01
    assert worst < 60 * max(kinds), "a household has drifted by a whole duty"
    return {
        "absent": f"{share:.1%}",
        "largest drift, minutes": round(worst / 60, 1),
        "plain rotation's, minutes": round(worst_rotation / 60, 1),
        "longest duty, minutes": max(kinds),
    }


def rotate(task: Task, households: tuple[Household, ...], start: int, minutes: Counter[UUID]) -> int:
    """Gives a task to the next on the list who can, and says where the list goes on."""
    for step in range(len(households)):
        one = households[(start + step) % len(households)]
        if task.uid not in one.cannot and (one.lifts or not task.heavy):
            minutes[one.uid] += task.minutes
            return start + step + 1
    return start


def absences(rng: Random, homes: int) -> dict[UUID, set[dt.date]]:
    """Days away, in spells of 3 to 21 days, until the share is reached."""
    days = [day for month in range(MONTHS) for day in days_of(month)]
    away: dict[UUID, set[dt.date]] = {uid(1 + n): set() for n in range(homes)}
    while sum(map(len, away.values())) < ABSENT * homes * len(days):
        first = rng.randrange(len(days))
        away[uid(1 + rng.randrange(homes))] |= set(days[first : first + rng.randint(3, 21)])
    return away


def days_of(month: int) -> list[dt.date]:
    first = dt.date(2025 + month // 12, 1 + month % 12, 1)
    following = dt.date(2025 + (month + 1) // 12, 1 + (month + 1) % 12, 1)
    return [first + dt.timedelta(days=n) for n in range((following - first).days)]
