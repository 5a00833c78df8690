"""Where all tasks take the same minutes: each level by exchanges, until prices prove that none is left that pays.

Each function solves one level on the network and fixes it: what is left free afterwards is exactly the set of plans
that are equally good on this level and on all before.
"""

from collections.abc import Sequence
from heapq import heapify, heappop, heappush

from households.rota.grid import bits
from households.rota.network import Network, Prices


def cover(network: Network, ahead: Sequence[int], step: int) -> bool:
    """Fills as many places as can be, after the least numbers of tasks and households. False if those can't be met; the
    network is then of no further use.

    `ahead`, `step`: seconds that each household is ahead with no task, and that a task adds; they decide nothing here
    but where the search begins: tasks in their order, each to whoever is furthest behind, in turn.
    """
    grid = network.grid
    pinned = list(network.count)
    if any(n > most for n, most in zip([*network.load, *pinned], [*grid.most, *grid.usual], strict=True)):
        return False
    least = [min(t, usual) for t, usual in zip(grid.least, grid.usual, strict=True)]
    network.most = [max(n, have) for n, have in zip(least, pinned, strict=True)]
    network.join()
    _deal(network, ahead, step)
    _fill(network)
    if network.count != network.most:
        return False
    network.most, network.least = list(grid.usual), list(network.count)
    network.join()
    if not _serve(network):
        return False
    network.least = least
    _deal(network, ahead, step)
    network.low = [max(must, pins.bit_count()) for must, pins in zip(grid.must, grid.pins, strict=True)]
    network.join()
    _fill(network)
    return True


def _deal(network: Network, ahead: Sequence[int], step: int) -> None:
    """Gives out what has room, without exchanges: first as in the plan in force, then to whoever is furthest behind;
    those alike take turns, at first by uid."""
    for household, kept in enumerate(network.grid.kept):
        for task in bits(kept & network.free[household] & ~network.have[household]):
            if network.load[household] < network.high[household] and network.count[task] < network.most[task]:
                network.take(household, task)
    heap = [(a + step * k, 0, h) for h, (a, k) in enumerate(zip(ahead, network.load, strict=True))]
    heapify(heap)
    turn = 0
    for task in range(network.tasks):
        passed = []
        while heap and network.count[task] < network.most[task]:
            seconds, last, household = heappop(heap)
            if network.load[household] >= network.high[household]:
                continue
            if network.free[household] & ~network.have[household] & 1 << task:
                network.take(household, task)
                turn += 1
                seconds, last = seconds + step, turn
            passed.append((seconds, last, household))
        for waiting in passed:
            heappush(heap, waiting)


def _fill(network: Network) -> int:
    """Places filled, by one path after the other from HERE to THERE, until there is none: the most that can be."""
    filled = 0
    while True:
        path, _ = network.search(1 << network.here, 1 << network.there)
        if not path:
            return filled
        network.exchange(path)
        filled += 1


def _serve(network: Network) -> bool:
    """Brings each household to the tasks it must get, taking from others only what they needn't have."""
    network.low = list(network.grid.must)
    network.join()
    goals = 1 << network.there | 1 << network.here
    for household, must in enumerate(network.grid.must):
        while network.load[household] < must:
            path, _ = network.search(1 << household, goals)
            if not path:
                return False
            network.exchange([network.here, *path])
    return True


def even_out(network: Network, ahead: Sequence[int], step: int) -> int:
    """The least sum of squares of `ahead` (seconds, for no task of this network) + `step` seconds a task; returns it.

    The household with the cheapest next task seeks, through exchanges, the one that saves most by giving one up; if
    none saves more than it costs, everything it can reach gets its price and is closed. A household that is closed
    stays so.
    """
    plus = [step * (2 * (a + step * k) + step) for a, k in zip(ahead, network.load, strict=True)]
    minus = [cost - 2 * step * step for cost in plus]
    price: list[int | None] = [None] * network.nodes
    closed = 1 << network.here
    heap = [(plus[h], h) for h in bits(network.out[network.here])]
    heapify(heap)
    while heap:
        cost, taker = heappop(heap)
        if closed >> taker & 1 or cost != plus[taker] or network.load[taker] >= network.high[taker]:
            continue
        _, seen = network.search(1 << taker, 0, closed=closed)
        reached = seen & ~closed
        givers = [h for h in bits(reached & ((1 << network.households) - 1)) if network.load[h] > network.low[h]]
        giver = max(givers, key=lambda h: (minus[h], -h), default=taker)
        if minus[giver] <= cost:
            for node in bits(reached):
                price[node] = cost
            closed |= reached
            continue
        path, _ = network.search(1 << taker, 1 << giver, closed=closed)
        network.exchange([network.here, *path, network.here])
        for household, sign in ((taker, 1), (giver, -1)):
            plus[household] += sign * 2 * step * step
            minus[household] += sign * 2 * step * step
            heappush(heap, (plus[household], household))
    # Those that no household with room can reach are all full: any price above every cost proves that.
    beyond = 1 + max([0, *plus, *minus])
    known = [beyond if p is None else p for p in price]
    known[network.here] = 0
    network.fix(Prices(known, [0] * network.households, plus, minus))
    for household, load in enumerate(network.load):
        network.high[household] = min(network.high[household], load + 1)
        network.low[household] = max(network.low[household], load - 1)
    network.join()
    return sum((a + step * k) ** 2 for a, k in zip(ahead, network.load, strict=True))


def gather(network: Network, gains: Sequence[int]) -> int:
    """The most cells of `gains` (tasks by household, as bits) that a plan can have; returns how many it has.

    Households are counted in one after the other. While one's gains are not yet paid for by the prices, a circle of
    exchanges without cost that passes it and a gain is done; if there is none, all that was reached becomes cheaper by
    1.
    """
    households = network.households
    price = [0] * network.nodes
    same = {0: (1 << network.nodes) - 1}
    counted = [0] * households
    turned = [0] * network.tasks

    def free_of_cost(node: int) -> int:
        value = price[node]
        here = same.get(value, 0)
        if node < households:
            gain = counted[node] << households
            return network.out[node] & ((here & ~gain) | (same.get(value - 1, 0) & gain))
        if node < network.there:
            gain = turned[node - households]
            return network.out[node] & ((here & ~gain) | (same.get(value + 1, 0) & gain))
        return network.out[node] & here

    for household in range(households):
        counted[household] = gains[household]
        for task in bits(gains[household]):
            turned[task] |= 1 << household
        while True:
            unpaid = network.out[household] & (gains[household] << households) & same.get(price[household], 0)
            if not unpaid:
                break
            path, seen = network.search(unpaid, 1 << household, free_of_cost)
            if path:
                network.exchange([household, *path])
                continue
            for value in sorted({price[node] for node in bits(seen)}):
                moved = same[value] & seen
                same[value] &= ~moved
                same[value - 1] = same.get(value - 1, 0) | moved
            for node in bits(seen):
                price[node] -= 1
    nothing = [0] * households
    network.fix(Prices(price, gains, nothing, nothing))
    return sum((have & gain).bit_count() for have, gain in zip(network.have, gains, strict=True))
