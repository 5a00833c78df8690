"""How much browns lie in a chamber before the first pail."""

import pytest

from bins.process.base_layer import base_layer_litres


@pytest.mark.parametrize(
    ("litres", "browns", "layer"),
    [(500, "shavings", 50), (500, "pellets", 17), (100, "leaves", 10), (100, "pellets", 4), (1, "straw", 1)],
)
def test_a_tenth_of_the_chamber_and_a_third_of_that_for_pellets(litres: int, browns: str, layer: int) -> None:
    assert base_layer_litres(litres, browns) == layer


def test_a_chamber_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="holds something"):
        base_layer_litres(0, "pellets")
