"""The yardstick: what a batch would breathe at 30 °C, moist and aired. A dry, cold or airless one can't look done by
it."""

from typing import Any

from bins.process.model.balance import CARBON_KG_PER_KG, HUMUS
from bins.process.model.parameters import Draws
from bins.process.model.rates import YARDSTICK_C, cardinal
from bins.process.model.state import FAST, FRESH, INERT, NOTHING, SLOW

DONE, LENIENT = 2.0, 4.0  # mg CO2-C a gram of organic matter and day; TMECC, CCQC, CCME, from memory
MG_CARBON_PER_G = 1000 * CARBON_KG_PER_KG
AT_YARDSTICK = float(cardinal(YARDSTICK_C))
# Chosen, so that 2, 8, 15 and 40 mg, where respiration's own classes part, read 7, 20, 28 and 38 K: the flask's classes
# V to I part at 10, 20, 30 and 40 K (both from memory). A flask that just passes at 10 K is at 3 mg, between done and
# lenient.
FLASK_MOST_K, FLASK_HALF = 50.0, 12.0


def potential_respiration(state: Any, draws: Draws) -> Any:
    """mg CO2-C a gram of organic matter and day. Wood counts neither as matter nor as breath; fresh counts as woken."""
    organic = state[FRESH] + state[FAST] + state[SLOW] + state[INERT]
    return breathed(state, draws) * (MG_CARBON_PER_G * AT_YARDSTICK) / (organic + NOTHING)


def breathed(state: Any, draws: Draws) -> Any:
    """Kilos of organic matter a day that would burn at the optimum."""
    fast = draws.fast_rate * (1.0 - HUMUS) * (state[FRESH] + state[FAST])
    return fast + draws.slow_rate * state[SLOW]


def flask_rise_k(respiration: Any) -> Any:
    """How far over the room a moist handful in a thermos flask heats itself, K, at that potential respiration."""
    return FLASK_MOST_K * respiration / (respiration + FLASK_HALF)


def organic_loss(before: float, after: float) -> float:
    """Share of the organic matter lost, from its shares of dry matter before and after: ash neither comes nor goes.

    ValueError unless both are above 0 and below 1.
    """
    if not (0 < before < 1 and 0 < after < 1):
        raise ValueError("shares of organic matter are above 0 and below 1")
    return 1.0 - after * (1.0 - before) / (before * (1.0 - after))
