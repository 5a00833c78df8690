"""How fast decay runs: temperature, moisture, free air space and oxygen, each a factor of 0 to 1.

All functions take and give arrays of one shape (or numbers). Made of + - * / and sqrt alone, which every machine rounds
alike; a library's exp differs in the last digit between versions.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]  # single precision as kept; double where the books are audited

BEST_C, HOTTEST_C = 58.6, 71.6  # cardinal temperatures of composting, from memory (Rosso's form)
# Chosen. In print 5 °C, from hot heaps; but then 15 °C runs at a sixth of 30 °C, where curing heaps, like soil,
# halve their pace with 10 K or so (from memory). -5 °C gives a third, and lots in a cool basement an end.
COLDEST_C = -5.0
YARDSTICK_C = 30.0  # respiration is compared at this temperature
OXYGEN_IN_AIR = 0.21  # by volume
OXYGEN_HALF = 0.02  # Haug 1993, from memory: half speed at 2 % oxygen in the pores
MOISTURE_AT, MOISTURE_SLOPE = 7.0622, -17.684
SPACE_AT, SPACE_SLOPE = 3.4945, -23.675
ORGANIC_KG_PER_L, ASH_KG_PER_L, WATER_KG_PER_L = 1.0, 2.5, 1.0  # Haug 1993, from memory
HALVINGS = 6  # exp(x) = p(x / 64)^64: five digits for |x| < 8, three at 20; see its test
# Quartic through the Magnus formula (from memory) from 0 to 75 °C, relative error under 0.3 %.
VAPOUR_AT_0, C1, C2, C3, C4 = 4.85e-3, 3.25727e-4, 1.156763e-5, 8.82055e-8, 3.479937e-9


def exp(x: Any) -> Any:
    """e^x for -20 < x < 20, to five digits below 8; beyond 20 the end's value. The same bits on every machine."""
    part = np.minimum(np.maximum(x, -20.0), 20.0) * (1.0 / 2**HALVINGS)
    power = 1.0 + part * (1.0 + part * (0.5 + part * (1 / 6 + part * (1 / 24))))
    for _ in range(HALVINGS):
        power *= power
    return power


def cardinal(temperature_c: Any, coldest_c: float = COLDEST_C) -> Any:
    """Temperature factor: 1 at 58.6 °C, 0 at and beyond `coldest_c` and 71.6 °C (Rosso et al. 1993, form from
    memory)."""
    # Rosso's divisor (best - cold) [(best - cold)(t - best) - (best - hot)(best + cold - 2 t)], sorted by t
    span = BEST_C - coldest_c
    below = -span * (span * BEST_C + (BEST_C - HOTTEST_C) * (BEST_C + coldest_c))
    below_per_c = span * (span + 2.0 * (BEST_C - HOTTEST_C))
    t = np.minimum(np.maximum(temperature_c, coldest_c), HOTTEST_C)
    above = t - coldest_c
    return (t - HOTTEST_C) * above * above / (below + below_per_c * t)


def moisture_factor(moisture: Any) -> Any:
    """Moisture factor (Haug 1993, from memory): 0.15 at 30 %, 0.97 at 60 % of wet mass. No penalty for wet: that acts
    through the free air space."""
    return 1.0 / (1.0 + exp(MOISTURE_AT + MOISTURE_SLOPE * moisture))


def space_factor(free_air_space: Any) -> Any:
    """Factor of free air space (Haug 1993, from memory): 0.51 at 15 %, 0.97 at 30 %."""
    return 1.0 / (1.0 + exp(SPACE_AT + SPACE_SLOPE * free_air_space))


def wet_and_aired(moisture: Any, free_air_space: Any) -> Any:
    """Both factors multiplied, in fewer passes over memory: this is where the time goes."""
    both = np.empty((2, *moisture.shape), dtype=moisture.dtype)
    both[0] = MOISTURE_AT + MOISTURE_SLOPE * moisture
    both[1] = SPACE_AT + SPACE_SLOPE * free_air_space
    hindrance = 1.0 + exp(both)
    return 1.0 / (hindrance[0] * hindrance[1])


def free_air_space(wet_kg_per_l: float, solids: float, volatile: float) -> float:
    """Share of the volume that is air, from wet bulk density, solids of wet mass and volatile share of solids."""
    organic = volatile / ORGANIC_KG_PER_L + (1 - volatile) / ASH_KG_PER_L
    return 1.0 - wet_kg_per_l * ((1 - solids) / WATER_KG_PER_L + solids * organic)


def oxygen_factor(demand: Any) -> Any:
    """Factor of oxygen at quasi-steady state. `demand`: oxygen wanted at full speed, over what the exchange of air
    brings for each unit of volume share (so 0: none wanted; 0.21: as much as all the oxygen that comes in).

    x in the pores solves  0.21 - x = demand * x / (half + x): the positive root, without cancellation.
    """
    linear = demand + (OXYGEN_HALF - OXYGEN_IN_AIR)
    constant = OXYGEN_IN_AIR * OXYGEN_HALF
    share = 2.0 * constant / (linear + np.sqrt(linear * linear + 4.0 * constant))
    return share / (OXYGEN_HALF + share)


def vapour_kg_per_m3(temperature_c: Any) -> Any:
    """Water in a cubic metre of saturated air: 4.85, 17.3, 51, 130 g at 0, 20, 40, 60 °C; rough below 0 °C."""
    t = temperature_c
    return VAPOUR_AT_0 + t * (C1 + t * (C2 + t * (C3 + t * C4)))
