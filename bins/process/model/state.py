"""The state of a batch: one row a quantity, one column a member. All rows are amounts, so that two states add up.

Heat is counted from liquid water at 0 °C. From it follows the temperature; below 0 °C water freezes first.
"""

from typing import Any

import numpy as np

from bins.process.model.rates import ASH_KG_PER_L

VERSION = 2  # raise it with any change of the equations, parameters or rows: kept states are begun anew
WATER, HEAT, VOLUME, FRESH, FAST, SLOW, WOOD, INERT, ASH, WARM_DAYS = range(10)
ROWS = 10  # kg, kJ, litres; the last counts the stage's days above 10 °C
MOVING = 7  # the first rows change by themselves; inert matter and ash only by additions

DRY_KJ_PER_KG_K = 1.2  # dry organic matter, from memory
WATER_KJ_PER_KG_K = 4.18
FREEZING_KJ_PER_KG = 334.0  # water
NOTHING = 1e-9  # kg, l, kJ/K: keeps an empty vessel from dividing by nought


def organic_kg(state: Any) -> Any:
    """All organic matter."""
    return state[FRESH] + state[FAST] + state[SLOW] + state[WOOD] + state[INERT]


def dry_kg(state: Any) -> Any:
    """All dry matter."""
    return organic_kg(state) + state[ASH]


def wet_kg(state: Any) -> Any:
    """Dry matter and water."""
    return dry_kg(state) + state[WATER]


def temperature_c(state: Any) -> Any:
    """The temperature that goes with the heat: a plateau at 0 °C while water freezes or thaws. 0 for nothing."""
    return temperature_of(state[HEAT], state[WATER], dry_kg(state) + NOTHING)


def temperature_of(heat: Any, water: Any, dry: Any) -> Any:
    """The same from its parts: kJ, kg, kg (above nothing)."""
    thawed = np.maximum(heat, 0.0) + np.minimum(heat + FREEZING_KJ_PER_KG * water, 0.0)
    return thawed / (DRY_KJ_PER_KG_K * dry + WATER_KJ_PER_KG_K * water)


def heat_of(celsius: Any, water: Any, dry: Any) -> Any:
    """kJ in so many kg of water and dry matter; exactly at 0 °C the water is liquid."""
    latent = np.where(np.asarray(celsius) < 0, FREEZING_KJ_PER_KG, 0.0) * water
    return (DRY_KJ_PER_KG_K * dry + WATER_KJ_PER_KG_K * water) * celsius - latent


def moisture(state: Any) -> Any:
    """Water of wet mass, 0 to 1; 0 for nothing."""
    return state[WATER] / (wet_kg(state) + NOTHING)


def solid_l(state: Any) -> Any:
    """Room that water and solids take without any air."""
    return state[WATER] + organic_kg(state) + state[ASH] / ASH_KG_PER_L


def air_share(state: Any) -> Any:
    """Free air space, 0 to 1, of the volume as it lies."""
    return 1.0 - solid_l(state) / (state[VOLUME] + NOTHING)
