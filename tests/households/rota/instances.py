"""Small random problems, as mean as real ones: absences, limits, pins, frozen tasks, unequal minutes, days apart."""

from datetime import date, timedelta
from random import Random
from uuid import UUID

from households.rota.problem import Cell, Existing, Household, Problem, Task

MONDAY = date(2026, 5, 4)


def uid(number: int) -> UUID:
    return UUID(int=number)


def task(number: int, *, day: int = 0, minutes: int = 20, least: int = 1, usual: int = 2, heavy: bool = False) -> Task:
    return Task(uid(1000 + number), MONDAY + timedelta(days=day), minutes, least, usual, heavy)


def household(
    number: int, *, may: set[int] | None = None, of: int = 0, prefers: tuple[int, ...] = (), **rest: int
) -> Household:
    """A household that may do the tasks of these numbers only (None: all) of the first `of`."""
    cannot = frozenset() if may is None else frozenset(uid(1000 + n) for n in range(of) if n not in may)
    present = rest.pop("days_present", 28)
    wanted = frozenset(uid(1000 + n) for n in prefers)
    return Household(uid(1 + number), present, cannot=cannot, prefers=wanted, **rest)


def draw(rng: Random) -> Problem:
    """One problem of 2 to 7 households and 3 to 11 tasks; about every third cannot be met."""
    several = rng.random() < 0.5
    kinds = rng.choice(((10, 20), (15, 20, 45), (5, 10, 30))) if several else (rng.choice((10, 20, 45)),)
    tasks = []
    for number in range(rng.randint(3, 11)):
        usual = rng.choice((1, 1, 2, 2, 3))
        tasks.append(
            task(
                number,
                day=rng.randrange(12),
                minutes=rng.choice(kinds),
                least=rng.choice((0, 1, min(usual, 2))),
                usual=usual,
                heavy=rng.random() < 0.15,
            )
        )
    uids = [t.uid for t in tasks]
    absent = rng.choice((0.1, 0.2, 0.4))
    households = []
    for number in range(rng.randint(3, 7)):
        cannot = frozenset(t for t in uids if rng.random() < absent)
        least = rng.choice((0, 0, 0, 0, 0, 0, 0, 1, 2))
        households.append(
            Household(
                uid(1 + number),
                days_present=rng.choice((0, 14, 28, 28, 28)),
                done_minutes=rng.randrange(0, 120, 5),
                due_seconds=rng.randrange(0, 7200),
                cannot=cannot,
                prefers=frozenset(t for t in uids if rng.random() < 0.3),
                lifts=rng.random() < 0.8,
                least=least,
                most=rng.choice((None, None, None, least + rng.randint(0, 3))),
            )
        )
    cells = [Cell(h.uid, t) for h in households for t in uids]
    frozen = frozenset(t for t in uids if rng.random() < 0.1)
    now = frozenset(c for c in cells if rng.random() < 0.25) if rng.random() < 0.7 else frozenset[Cell]()
    open_cells = [c for c in cells if c.task not in frozen]
    pins = frozenset(c for c in open_cells if rng.random() < 0.01)
    forbids = frozenset(c for c in cells if rng.random() < 0.03) - pins
    apart = rng.choice((0, 0, 1, 2))
    return Problem(tuple(tasks), tuple(households), pins, forbids, apart, Existing(now, frozen))
