"""What is to be assigned: the tasks (slots or duties), the households, and what the caretaker fixed.

A duty is a task that needs people; a household bears its minutes. A slot is a task with room: `least` 0,
`usual` the households that fit, and it is the household that must come (`Household.least` times). Order never
matters: everything is read by day and uid.
"""

from dataclasses import dataclass, field
from datetime import date
from uuid import UUID


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """One household at one task."""

    household: UUID
    task: UUID


@dataclass(frozen=True, slots=True)
class Task:
    """One occurrence of a duty or a slot, on a local day.

    `minutes`: the set effort of each person, 1 or more (also for a slot: take 1). `least`: people without whom the plan
    is refused; `usual`: people wanted, and the most that are taken; 0 <= least <= usual, usual 1 or more. `heavy`: only
    for households that lift. ValueError otherwise.
    """

    uid: UUID
    day: date
    minutes: int
    least: int = 1
    usual: int = 2
    heavy: bool = False

    def __post_init__(self) -> None:
        if self.minutes < 1 or not 0 <= self.least <= self.usual or self.usual < 1:
            raise ValueError("minutes are 1 or more, and 0 <= least <= usual, with room for one at least")


@dataclass(frozen=True, slots=True)
class Household:
    """One household in the period, with what earlier periods left.

    `days_present`: days of the period on which it is there, 0 or more; what is due is in proportion to them.
    `done_minutes`, `due_seconds`: all that it did, and all that was due from it, before this period (both 0 for a
    newcomer). `cannot`: tasks it cannot do, whatever the reason (absence, "cannot"); `prefers`: those it would rather
    do; both may name tasks that the problem doesn't have. `lifts`: False keeps it from heavy tasks. `least`, `most`:
    how many tasks it must get and may get at most (None: no limit). ValueError on negative numbers or least > most.
    """

    uid: UUID
    days_present: int
    done_minutes: int = 0
    due_seconds: int = 0
    cannot: frozenset[UUID] = frozenset()
    prefers: frozenset[UUID] = frozenset()
    lifts: bool = True
    least: int = 0
    most: int | None = None

    def __post_init__(self) -> None:
        if min(self.days_present, self.done_minutes, self.due_seconds, self.least) < 0:
            raise ValueError("days, minutes, seconds and numbers are 0 or more")
        if self.most is not None and self.most < self.least:
            raise ValueError("a household's most is not below its least")


@dataclass(frozen=True, slots=True)
class Existing:
    """The plan that is in force. `cells` may name tasks and households that are gone since.

    `frozen`: tasks that are done, or so near that people rely on them: exactly their people stay, whatever else
    the problem says of them.
    """

    cells: frozenset[Cell]
    frozen: frozenset[UUID] = frozenset()


@dataclass(frozen=True, slots=True)
class Problem:
    """One period to be planned.

    `pins`, `forbids`: the caretaker's cells that must be, and must not be. `days_apart`: two tasks of one household
    lie at least so many days apart: 0 no rule, 1 not twice a day, 2 not two days running. ValueError on a uid given
    twice, on a pin or forbid of an unknown task or household, on a cell both pinned and forbidden, on
    days_apart outside 0-7.
    """

    tasks: tuple[Task, ...]
    households: tuple[Household, ...]
    pins: frozenset[Cell] = frozenset()
    forbids: frozenset[Cell] = frozenset()
    days_apart: int = 0
    existing: Existing = field(default_factory=lambda: Existing(frozenset()))

    def __post_init__(self) -> None:
        tasks, households = {t.uid for t in self.tasks}, {h.uid for h in self.households}
        if len(tasks) != len(self.tasks) or len(households) != len(self.households):
            raise ValueError("each task and each household appears once")
        if any(c.task not in tasks or c.household not in households for c in self.pins | self.forbids):
            raise ValueError("a pin or forbid names a task or household that isn't there")
        if self.pins & self.forbids:
            raise ValueError("a cell is pinned and forbidden")
        if not self.existing.frozen <= tasks:
            raise ValueError("a frozen task is one of the problem's")
        if not 0 <= self.days_apart <= 7:
            raise ValueError("tasks of a household lie 0 to 7 days apart")
