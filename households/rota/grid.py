"""A problem laid out as a grid: households by uid down, tasks by day and uid across, cells as bits of whole numbers.

Bit t of a household's mask stands for task t. What is frozen is taken out of the grid: its minutes count for its
people, and nobody may be added or taken away there.
"""

from dataclasses import dataclass
from functools import cached_property, reduce
from operator import or_

from households.rota.problem import Cell, Household, Problem, Task


@dataclass(frozen=True)
class Grid:
    """Tasks and households in their one order, and everything that a search must know of each."""

    problem: Problem
    tasks: tuple[Task, ...]
    households: tuple[Household, ...]
    facts: tuple[int, ...]  # by household: the frozen tasks that are its own
    may: tuple[int, ...]  # by household: the tasks it may be given

    @cached_property
    def least(self) -> list[int]:
        """By task: people that it must get (0 where frozen: its people are facts)."""
        return [0 if t.uid in self.problem.existing.frozen else t.least for t in self.tasks]

    @cached_property
    def usual(self) -> list[int]:
        """By task: people that it gets at most."""
        return [0 if t.uid in self.problem.existing.frozen else t.usual for t in self.tasks]

    @cached_property
    def must(self) -> list[int]:
        """By household: tasks it must still get, beside its facts."""
        return [max(0, h.least - facts.bit_count()) for h, facts in zip(self.households, self.facts, strict=True)]

    @cached_property
    def most(self) -> list[int]:
        """By household: tasks it may still get, beside its facts."""
        return [
            len(self.tasks) if h.most is None else max(0, h.most - facts.bit_count())
            for h, facts in zip(self.households, self.facts, strict=True)
        ]

    @cached_property
    def pins(self) -> list[int]:
        """By household: the pinned tasks, those that are facts left out."""
        pinned = self.masks(self.problem.pins)
        return [mask & ~facts for mask, facts in zip(pinned, self.facts, strict=True)]

    @cached_property
    def pins_stand(self) -> bool:
        """Whether each pin is a cell that may be."""
        return not any(pins & ~may for pins, may in zip(self.pins, self.may, strict=True))

    @cached_property
    def prefers(self) -> list[int]:
        """By household: the tasks it would rather do."""
        return self.masks(frozenset(Cell(h.uid, t) for h in self.households for t in h.prefers))

    @cached_property
    def kept(self) -> list[int]:
        """By household: its tasks in the plan in force, those that are facts left out."""
        now = self.masks(self.problem.existing.cells)
        return [mask & ~facts for mask, facts in zip(now, self.facts, strict=True)]

    @cached_property
    def minutes(self) -> list[int]:
        """By task: the minutes of each person."""
        return [t.minutes for t in self.tasks]

    @cached_property
    def open_minutes(self) -> frozenset[int]:
        """The minutes of all tasks that anybody may be given."""
        anybody = reduce(or_, self.may, 0)
        return frozenset(self.minutes[t] for t in bits(anybody))

    def masks(self, cells: frozenset[Cell]) -> list[int]:
        """The cells as one mask a household; those of unknown tasks and households are passed over."""
        row = {h.uid: number for number, h in enumerate(self.households)}
        column = {t.uid: number for number, t in enumerate(self.tasks)}
        masks = [0] * len(self.households)
        for cell in cells:
            if cell.household in row and cell.task in column:
                masks[row[cell.household]] |= 1 << column[cell.task]
        return masks

    def minutes_of(self, mask: int) -> int:
        """The minutes of the tasks in a mask."""
        return sum(self.minutes[t] for t in bits(mask))

    def clashing(self, mask: int, facts: int) -> bool:
        """Whether two tasks of the mask lie closer together than the problem allows; two facts may."""
        ours = bits(mask)
        return any(
            (self.tasks[after].day - self.tasks[before].day).days < self.problem.days_apart
            for number, before in enumerate(ours)
            for after in ours[number + 1 :]
            if not (facts >> before & facts >> after & 1)
        )


def lay_out(problem: Problem) -> Grid:
    """The grid of a problem, the same whatever the order of its parts."""
    tasks = tuple(sorted(problem.tasks, key=lambda t: (t.day, t.uid)))
    households = tuple(sorted(problem.households, key=lambda h: h.uid))
    bare = Grid(problem, tasks, households, (0,) * len(households), (0,) * len(households))
    frozen = sum(1 << number for number, t in enumerate(tasks) if t.uid in problem.existing.frozen)
    heavy = sum(1 << number for number, t in enumerate(tasks) if t.heavy)
    facts = tuple(mask & frozen for mask in bare.masks(problem.existing.cells))
    cannot = bare.masks(problem.forbids | {Cell(h.uid, t) for h in households for t in h.cannot})
    everything = (1 << len(tasks)) - 1
    may = tuple(
        everything & ~(frozen | no | (0 if h.lifts else heavy) | _near(tasks, own, problem.days_apart))
        for h, own, no in zip(households, facts, cannot, strict=True)
    )
    return Grid(problem, tasks, households, facts, may)


def _near(tasks: tuple[Task, ...], mask: int, days_apart: int) -> int:
    """The tasks that lie too close to one of the mask's."""
    if not days_apart or not mask:
        return 0
    days = {tasks[t].day.toordinal() for t in bits(mask)}
    return sum(
        1 << number for number, t in enumerate(tasks) if any(abs(t.day.toordinal() - day) < days_apart for day in days)
    )


def bits(mask: int) -> list[int]:
    """The numbers of the bits that are set, ascending."""
    found = []
    while mask:
        low = mask & -mask
        found.append(low.bit_length() - 1)
        mask ^= low
    return found
