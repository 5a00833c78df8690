"""A good plan made better by exchanges among tasks of equal minutes: a start for branch and bound, never a proof.

With unequal minutes no flow covers the whole. Those tasks of it that take the same minutes are one, while all else
stays.
"""

from collections.abc import Callable, Sequence
from functools import partial

from households.rota.flow import even_out, gather
from households.rota.grid import Grid, bits
from households.rota.network import Network

ROUNDS = 20  # over all kinds of tasks; each gains or ends the search. Chosen: three or four are usual


def level_out(grid: Grid, have: Sequence[int], ahead: Sequence[int], goals: Sequence[Sequence[int]]) -> list[int]:
    """The plan with a smaller sum of squares and no fewer cells of the goals, if exchanges find one, kind by kind of
    task. The largest load never grows by it, nor does the smallest fall."""
    now = list(have)
    best = _squares(grid, now, ahead)
    for _ in range(ROUNDS):
        for minutes, kind in _kinds(grid):
            others = [mask & ~kind for mask in now]
            start = [a + 60 * grid.minutes_of(mask) for a, mask in zip(ahead, others, strict=True)]

            counts = [mask.bit_count() for mask in others]
            low = [max(0, must - count) for must, count in zip(grid.must, counts, strict=True)]
            high = [most - count for most, count in zip(grid.most, counts, strict=True)]
            wished = _of_kind(goals, kind)
            even = partial(_even, low=low, high=high, goals=wished, ahead=start, step=60 * minutes)
            now = _among(grid, now, kind, even)
        if (squares := _squares(grid, now, ahead)) == best:
            break
        best = squares
    return now


def trade(grid: Grid, have: Sequence[int], goals: Sequence[Sequence[int]]) -> list[int]:
    """The plan with more cells of the last goal and no fewer of those before (tasks by household, as bits), everybody's
    minutes as they are."""
    now = list(have)
    for _, kind in _kinds(grid):
        now = _among(grid, now, kind, partial(_gain, goals=_of_kind(goals, kind)))
    return now


def _even(
    network: Network,
    low: Sequence[int],
    high: Sequence[int],
    goals: Sequence[Sequence[int]],
    ahead: Sequence[int],
    step: int,
) -> None:
    network.low, network.high = list(low), list(high)
    network.join()
    _gain(network, goals)
    even_out(network, ahead, step)


def _gain(network: Network, goals: Sequence[Sequence[int]]) -> None:
    for gains in goals:
        gather(network, gains)


def _of_kind(goals: Sequence[Sequence[int]], kind: int) -> list[list[int]]:
    return [[mask & kind for mask in gains] for gains in goals]


def _kinds(grid: Grid) -> list[tuple[int, int]]:
    """Each number of minutes, and the open tasks that take as many, as bits."""
    kinds: dict[int, int] = {}
    for number, (minutes, usual) in enumerate(zip(grid.minutes, grid.usual, strict=True)):
        if usual:
            kinds[minutes] = kinds.get(minutes, 0) | 1 << number
    return sorted(kinds.items())


def _among(grid: Grid, have: Sequence[int], kind: int, better: Callable[[Network], None]) -> list[int]:
    """The plan after `better` was done to the network of these tasks alone, as many for each household as it has.
    Whose tasks come too close to each other by it stands aside, and it is done again."""
    aside: set[int] = set()
    while True:
        network = Network(grid)
        network.have = [mask & kind for mask in have]
        network.load = [mask.bit_count() for mask in network.have]
        network.low, network.high = list(network.load), list(network.load)
        network.count = [0] * network.tasks
        for household, mask in enumerate(network.have):
            network.free[household] &= 0 if household in aside else kind
            for task in bits(mask):
                network.count[task] += 1
        network.least = [min(pair) for pair in zip(grid.least, grid.usual, strict=True)]
        network.join()
        better(network)
        now = [mask & ~kind | mine for mask, mine in zip(have, network.have, strict=True)]
        clashing = {h for h, facts in enumerate(grid.facts) if grid.clashing(now[h] | facts, facts)}
        if not clashing:
            return now
        aside |= clashing


def _squares(grid: Grid, have: Sequence[int], ahead: Sequence[int]) -> int:
    return sum((a + 60 * grid.minutes_of(mask)) ** 2 for a, mask in zip(ahead, have, strict=True))
