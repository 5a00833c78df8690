"""What comes back: a whole plan, or the reason why there is none; never half a rota."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from uuid import UUID

from households.rota.problem import Cell


class Goal(StrEnum):
    """The levels, in their order. Each is solved and fixed before the next."""

    PLACES = "places"  # people at tasks, as near to the usual number as possible (most)
    MINUTES = "minutes"  # minutes of work covered (most); says something only where efforts differ
    LARGEST = "largest"  # seconds by which the most burdened household is above what is due (least)
    SQUARES = "squares"  # sum of squares of all seconds above or below what is due (least)
    PREFERRED = "preferred"  # people at tasks that they prefer (most)
    KEPT = "kept"  # cells of the plan in force that stay (most)


class Method(StrEnum):
    """By what a level's value is shown to be the best."""

    FLOW = "flow"  # a price for each household and task under which no exchange of tasks pays
    SOLVER = "solver"  # branch and bound: the bound met the value, or the gap is stated


@dataclass(frozen=True, slots=True)
class Level:
    """The fixed value of one goal, and the best that could not be ruled out (equal to it: proved optimal)."""

    goal: Goal
    value: int
    bound: int
    method: Method

    @property
    def gap(self) -> int:
        """How far the value may be from the best, in the goal's unit; 0 is proved optimal."""
        return abs(self.value - self.bound)


@dataclass(frozen=True, slots=True)
class Load:
    """One household's work: `ahead` is done minus due over all periods, before and after this one (seconds; above 0:
    it has done more than was due). `due_seconds` is this period's due alone."""

    household: UUID
    tasks: int
    minutes: int
    due_seconds: int
    ahead_before_seconds: int
    ahead_after_seconds: int


@dataclass(frozen=True, slots=True)
class Plan:
    """Who does what: cells by household and task, a load for each household by uid, and the levels in order.

    `balance_before`, `balance_after`: Jain's index of what was done for each second due, over all periods (1: all
    alike; None: nothing was due).
    """

    cells: tuple[Cell, ...]
    loads: tuple[Load, ...]
    levels: tuple[Level, ...]
    balance_before: Fraction | None
    balance_after: Fraction | None

    @property
    def proved(self) -> bool:
        """Whether every level is proved optimal."""
        return all(level.gap == 0 for level in self.levels)

    def value(self, goal: Goal) -> int:
        """The fixed value of a goal. KeyError if it isn't one of the plan's levels."""
        return {level.goal: level.value for level in self.levels}[goal]


class Remedy(StrEnum):
    """What would free a set that cannot be met."""

    FEWER_PEOPLE = "fewer people"  # `task` makes do with so many fewer, or finds them elsewhere
    MORE_ROOM = "more room"  # `task` takes so many more
    COMES_LESS = "comes less"  # `household` has to get so many tasks fewer
    DOES_MORE = "does more"  # `household` takes so many tasks more
    UNPIN = "unpin"  # the pin of `household` at `task` is given up
    CLOSER_DAYS = "closer days"  # the rule about days between tasks is given up


@dataclass(frozen=True, slots=True)
class Way:
    """One way out. It frees this set; another part of the problem may still stand in the way."""

    remedy: Remedy
    by: int = 1
    task: UUID | None = None
    household: UUID | None = None


@dataclass(frozen=True, slots=True)
class Infeasible:
    """A minimal set of requirements that cannot be met together: leave any one out and the others can be.

    `tasks`: their least numbers; `households`: the least numbers of tasks that they must get; `pins`.
    `only_households` and `only_tasks` are those that come into question for it: everybody who may do these tasks, all
    the tasks that these households may use. `short_by`: people or places that lack. `ways` out, each tried.
    """

    tasks: tuple[UUID, ...]
    households: tuple[UUID, ...]
    pins: tuple[Cell, ...]
    only_households: tuple[UUID, ...]
    only_tasks: tuple[UUID, ...]
    short_by: int
    ways: tuple[Way, ...]


@dataclass(frozen=True, slots=True)
class Replan:
    """A plan beside the one in force: `changed` are the households whose tasks are not the same, by uid."""

    plan: Plan
    changed: tuple[UUID, ...]
    added: tuple[Cell, ...]
    dropped: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Replans:
    """Three answers to a change: the fewest changes, the fairest, and halfway between their largest burdens."""

    fewest: Replan
    halfway: Replan
    fairest: Replan
