"""The proof of a level is checked arc by arc, apart from the search; and the check can fail."""

from random import Random

import pytest

from households.rota.flow import cover, even_out, gather
from households.rota.grid import bits, lay_out
from households.rota.network import Network, Prices, Unproved
from households.rota.problem import Problem

from .instances import household, task


def network_of(tasks: int, homes: int) -> Network:
    network = Network(
        lay_out(Problem(tuple(task(n, day=n, usual=1) for n in range(tasks)), tuple(map(household, range(homes)))))
    )
    assert cover(network, [0] * homes, 1200)
    return network


def test_prices_that_leave_an_exchange_unpaid_are_refused() -> None:
    network = network_of(4, 2)
    missed = [network.grid.may[h] & ~network.have[h] for h in range(2)]  # everybody would rather swap
    nothing = [0, 0]
    with pytest.raises(Unproved):
        network.fix(Prices([0] * network.nodes, missed, nothing, nothing))
    assert gather(network_of(4, 2), missed) == 4


def test_prices_that_hide_an_uneven_load_are_refused() -> None:
    network = network_of(4, 2)
    network.exchange([network.here, 0, network.households + bits(network.have[1])[0], 1, network.here])
    assert network.load == [3, 1]
    step = 1200
    plus = [step * (2 * step * load + step) for load in network.load]
    minus = [cost - 2 * step * step for cost in plus]
    with pytest.raises(Unproved):
        network.fix(Prices([0] * network.nodes, [0, 0], plus, minus))
    assert even_out(network, [0, 0], step) == 2 * (2 * step) ** 2
    assert network.load == [2, 2]


@pytest.mark.parametrize("seed", range(8))
def test_after_a_level_is_fixed_no_exchange_that_is_left_makes_it_worse(seed: int) -> None:
    rng = Random(seed)
    network = network_of(9, 4)
    even_out(network, [rng.randrange(4000) for _ in range(4)], 1200)
    wishes = [rng.getrandbits(9) for _ in range(4)]
    best = gather(network, wishes)
    others = [rng.getrandbits(9) for _ in range(4)]
    gather(network, others)
    assert sum((have & wish).bit_count() for have, wish in zip(network.have, wishes, strict=True)) == best
