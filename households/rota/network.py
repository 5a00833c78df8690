"""The exchanges that a plan still allows, as a residual network; and what becomes fixed when a level is solved.

Nodes: the households, the tasks, and two more: THERE, through which the number of people at a task is moved to another
task, and HERE, through which the number of tasks of a household is moved to another household. Arcs, each an exchange:

    HERE -> household   it gets one task more      household -> task   it takes the task
    household -> HERE   it gets one task fewer     task -> household   the household gives the task up
    task -> THERE       one person more there      THERE -> task       one person fewer there

A circle of arcs is an exchange that keeps every total; a path from HERE to THERE fills one more place. A set of nodes
is a whole number, one bit a node, so that a step of the search handles all arcs of a node at once.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from households.rota.grid import Grid, bits

Path = list[int]


class Unproved(RuntimeError):
    """Prices that don't prove a level: a defect of the search, never of the problem."""


@dataclass(frozen=True, slots=True)
class Prices:
    """A price for each node. They prove a plan best where each arc's cost + price(from) - price(to) is 0 or more: along
    any circle the prices cancel, so no exchange has a cost below 0. In every best plan, arcs above 0 stay unused.

    `gains`: by household, the tasks each of which lowers the cost by 1. `plus`, `minus`: by household, the cost of
    one task more and what one task fewer saves.
    """

    price: Sequence[int]
    gains: Sequence[int]
    plus: Sequence[int]
    minus: Sequence[int]


class Network:
    """A plan and its residual network. `have`: by household, the tasks it has, as bits; `load` how many they are,
    `count` the people by task, `low`-`high` and `least`-`most` between which these may move; `free` the cells that are
    not fixed."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self.households, self.tasks = len(grid.households), len(grid.tasks)
        self.there = self.households + self.tasks
        self.here = self.there + 1
        self.nodes = self.here + 1
        self.have = list(grid.pins)
        self.free = [may & ~pins for may, pins in zip(grid.may, grid.pins, strict=True)]
        self.load = [mask.bit_count() for mask in self.have]
        self.count = [0] * self.tasks
        for mask in self.have:
            for task in bits(mask):
                self.count[task] += 1
        self.low, self.high = [0] * self.households, list(grid.most)
        self.least, self.most = [0] * self.tasks, list(grid.usual)
        self.out = [0] * self.nodes
        self.join()

    def join(self) -> None:
        """Draws all arcs anew from the plan, its free cells and its limits."""
        self.out = [0] * self.nodes
        for household, (have, free) in enumerate(zip(self.have, self.free, strict=True)):
            self.out[household] = (free & ~have) << self.households
            for task in bits(free & have):
                self.out[self.households + task] |= 1 << household
            self.join_household(household)
        for task in range(self.tasks):
            self.join_task(task)

    def join_household(self, household: int) -> None:
        self._arc(self.here, household, self.load[household] < self.high[household])
        self._arc(household, self.here, self.load[household] > self.low[household])

    def join_task(self, task: int) -> None:
        node = self.households + task
        self._arc(node, self.there, self.count[task] < self.most[task])
        self._arc(self.there, node, self.count[task] > self.least[task])

    def _arc(self, start: int, end: int, stands: bool) -> None:
        if stands:
            self.out[start] |= 1 << end
        else:
            self.out[start] &= ~(1 << end)

    def take(self, household: int, task: int) -> None:
        """Gives a free cell to a household that hasn't got it, outside any exchange."""
        self.exchange([self.here, household, self.households + task, self.there])

    def exchange(self, path: Path) -> None:
        """Does what each arc of the path says."""
        for start, end in pairwise(path):
            if start == self.here:
                self.load[end] += 1
            elif end == self.here:
                self.load[start] -= 1
            elif end == self.there:
                self.count[start - self.households] += 1
            elif start == self.there:
                self.count[end - self.households] -= 1
            else:
                self.have[min(start, end)] ^= 1 << (max(start, end) - self.households)
                self._arc(start, end, False)
                self._arc(end, start, True)
        for node in path:
            if node < self.households:
                self.join_household(node)
            elif node < self.there:
                self.join_task(node - self.households)

    def search(
        self, starts: int, goals: int, arcs: Callable[[int], int] | None = None, closed: int = 0
    ) -> tuple[Path, int]:
        """The first shortest path from a start to a goal (both sets of nodes), nodes tried in their order, empty if
        there is none; and all nodes seen. `arcs` restricts a node's arcs, `closed` nodes are not entered."""
        out = self.out
        seen = starts | closed
        came = [-1] * self.nodes
        queue = bits(starts & ~closed)
        for node in queue:
            new = (out[node] if arcs is None else arcs(node)) & ~seen
            if not new:
                continue
            seen |= new
            if new & goals:
                last = (new & goals & -(new & goals)).bit_length() - 1
                path = [last, node]
                while came[path[-1]] >= 0:
                    path.append(came[path[-1]])
                return path[::-1], seen
            while new:
                low = new & -new
                number = low.bit_length() - 1
                came[number] = node
                queue.append(number)
                new ^= low
        return [], seen

    def fix(self, prices: Prices) -> None:
        """Checks the proof, arc by arc, and fixes all that every equally good plan has in common. Unproved if an
        exchange pays."""
        price = prices.price
        same, above = _sets(price)
        none = 0

        def zero(node: int, gain: int) -> int:
            """Nodes to which an arc of no gain has reduced cost 0, and in `gain` those of gain 1."""
            return (same.get(price[node], none) & ~gain) | (same.get(price[node] - 1, none) & gain)

        gained = self.gained(prices.gains)
        for household in range(self.households):
            gain = prices.gains[household] << self.households
            worse = (above(price[household]) & ~gain) | (above(price[household] - 1) & gain)
            self._check(household, worse & ~(1 << self.here))
            self.free[household] &= zero(household, gain) >> self.households
            up = prices.plus[household] + price[self.here] - price[household]
            down = price[household] - prices.minus[household] - price[self.here]
            may_rise, may_fall = self._may(self.here, household), self._may(household, self.here)
            if (may_rise and up < 0) or (may_fall and down < 0):
                raise Unproved("another number of tasks would pay")
            if not may_rise or up:
                self.high[household] = self.load[household]
            if not may_fall or down:
                self.low[household] = self.load[household]
        self._check(self.there, above(price[self.there]))
        for task in range(self.tasks):
            node = self.households + task
            gain = gained[task]
            self._check(node, (above(price[node]) & ~gain) | (above(price[node] + 1) & gain))
            if price[node] != price[self.there]:
                self.least[task] = self.most[task] = self.count[task]
        self.join()

    def gained(self, gains: Sequence[int]) -> list[int]:
        """By task, the households for which it is a gain."""
        turned = [0] * self.tasks
        for household, mask in enumerate(gains):
            for task in bits(mask):
                turned[task] |= 1 << household
        return turned

    def _may(self, start: int, end: int) -> bool:
        return bool(self.out[start] >> end & 1)

    def _check(self, node: int, worse: int) -> None:
        if self.out[node] & worse:
            raise Unproved("another exchange would pay")


def _sets(price: Sequence[int]) -> tuple[dict[int, int], Callable[[int], int]]:
    """The nodes of each price, and a function that gives those above one."""
    same: dict[int, int] = {}
    for node, value in enumerate(price):
        same[value] = same.get(value, 0) | 1 << node
    higher: dict[int, int] = {}
    mask = 0
    for value in sorted(same, reverse=True):
        higher[value] = mask
        mask |= same[value]
    everything = mask

    def above(value: int) -> int:
        if value in higher:
            return higher[value]
        lower = [known for known in same if known <= value]
        return higher[max(lower)] if lower else everything

    return same, above
