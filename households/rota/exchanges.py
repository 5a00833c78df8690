"""A search by exchanges, level by level: for tasks that all take the same minutes."""

from collections.abc import Sequence

from households.rota.flow import cover, even_out, gather
from households.rota.grid import Grid, bits
from households.rota.network import Network
from households.rota.plan import Goal, Level, Method


class Exchanges:
    """One plan on its way through the levels. `have`: by household, its tasks as bits, those that are facts left
    out."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self.network = Network(grid)
        self.step = 60 * min(grid.open_minutes, default=1)

    @property
    def have(self) -> list[int]:
        return self.network.have

    def cover(self, ahead: Sequence[int]) -> bool:
        """Fills the most places; `ahead` (seconds, by household, without any task) guides where the search begins.
        False: the least numbers can't be met."""
        return cover(self.network, ahead, self.step)

    def coverage(self) -> list[Level]:
        """The places and minutes covered, facts left out."""
        places = sum(self.network.load)
        minutes = places * self.step // 60
        return [
            Level(Goal.PLACES, places, places, Method.FLOW),
            Level(Goal.MINUTES, minutes, minutes, Method.FLOW),
        ]

    def between(self, have: Sequence[int], ahead: Sequence[int], lowest: int, highest: int) -> None:
        """Begins at a covering plan whose households all end between `lowest` and `highest` seconds ahead, or where
        they must, and keeps them there."""
        network, grid = self.network, self.grid
        for household, mask in enumerate(have):
            for task in bits(mask & network.free[household]):
                network.take(household, task)
        network.least = [min(pair) for pair in zip(grid.least, grid.usual, strict=True)]
        for household, seconds in enumerate(ahead):
            load = network.load[household]
            floor = max(grid.must[household], grid.pins[household].bit_count(), -((seconds - lowest) // self.step))
            network.low[household] = min(load, floor)
            network.high[household] = max(load, min(network.high[household], (highest - seconds) // self.step))
        network.join()

    def fair(self, ahead: Sequence[int]) -> list[Level]:
        """The two levels of fairness at once: with equal minutes the least squares are also the smallest largest
        load."""
        squares = even_out(self.network, ahead, self.step)
        largest = max((a + self.step * k for a, k in zip(ahead, self.network.load, strict=True)), default=0)
        return [
            Level(Goal.LARGEST, largest, largest, Method.FLOW),
            Level(Goal.SQUARES, squares, squares, Method.FLOW),
        ]

    def most(self, goal: Goal, gains: Sequence[int]) -> Level:
        """The most cells of `gains` (tasks by household, as bits)."""
        value = gather(self.network, gains)
        return Level(goal, value, value, Method.FLOW)
