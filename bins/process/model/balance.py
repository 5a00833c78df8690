"""What a batch gains and loses in an hour: mass, water and energy. README.md has the equations with units.

Every flow is taken from one row and given to another or to the outside, so the books close to rounding whatever the
step.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from bins.process.model.geometry import touched
from bins.process.model.rates import ASH_KG_PER_L, Floats, cardinal, oxygen_factor, vapour_kg_per_m3, wet_and_aired
from bins.process.model.state import (
    ASH,
    FAST,
    FRESH,
    HEAT,
    INERT,
    MOVING,
    NOTHING,
    SLOW,
    VOLUME,
    WATER,
    WATER_KJ_PER_KG_K,
    WOOD,
    temperature_of,
)

OXYGEN_KG_PER_KG = 1.4  # oxygen that a kilo of organic matter takes, from memory (carbohydrate 1.2, fat 2.9)
HEAT_KJ_PER_KG_OXYGEN = 14_000.0  # from memory: nearly the same for all organic matter
HEAT_KJ_PER_KG = OXYGEN_KG_PER_KG * HEAT_KJ_PER_KG_OXYGEN
WATER_MADE_KG_PER_KG = 0.55  # water from the hydrogen of carbohydrate (0.56 by its formula)
CARBON_KG_PER_KG = 0.48  # carbon of the organic matter that goes, from memory
OXYGEN_KG_PER_M3 = 1.31  # a cubic metre of it at 25 °C
AIR_KJ_PER_M3_K = 1.19  # warming a cubic metre of air by a degree
VAPOUR_KJ_PER_KG, STEAM_KJ_PER_KG_K = 2501.0, 1.86  # making vapour at 0 °C and warming it: steam tables, from memory
BUOYANCY_PER_K = 0.03  # chosen: at 30 K over the air the exchange is about twice that at rest
DRY_MATTER_HOLDS = 0.08  # chosen: water of wet mass at which drying out slows to half
DRAIN_PER_HOUR = 0.03  # chosen: half of what runs out has run out in a day
SETTLE_PER_HOUR = 0.02  # chosen: half of the settling within a day and a half
# Water that a dry kilo holds against gravity. Fresh: whole cells at 83 % moisture; others chosen near 70 %; wood: the
# trade's figure for pellets, 3 kg.
HOLDS_FRESH, HOLDS_ORGANIC, HOLDS_WOOD, HOLDS_ASH = 4.8, 2.3, 3.0, 0.5
HUMUS = 0.20  # chosen: share of fast matter eaten that becomes microbes' bodies, slow to go
AIR_BY_WOOD = 0.40  # chosen: what wood alone would add to it


@dataclass(frozen=True, slots=True)
class Coefficients:
    """What is constant over a day, one value a column, shaped like a row of the state."""

    eaten: Floats  # three rows, 1/h at the optimum: fast, slow, wood
    waking: Floats  # 1/h at the optimum: fresh matter becomes food as it is colonised
    wall: Floats  # kJ/(h K) with the whole wall touched
    exchange: Floats  # m3 of air an hour with the vessel full, at rest
    solid: Floats  # 1 less the free air space of settled scraps
    per_litre: Floats  # 1 / litres of the vessel
    air_c: Floats
    air_vapour: Floats  # kg/m3


def change(state: Any, c: Coefficients, flows: Any = None) -> Any:
    """Change per hour of the moving rows of `state`. `flows`, if given, gets what crosses the border an hour:
    burnt, evaporated and drained kg, kJ made and kJ lost."""
    water, heat, volume, fresh, wood, ash = (state[row] for row in (WATER, HEAT, VOLUME, FRESH, WOOD, ASH))
    organic = np.add.reduce(state[FRESH : INERT + 1])
    dry = organic + ash + NOTHING
    warm = temperature_of(heat, water, dry)
    over = warm - c.air_c
    wet = water / (water + dry)
    solid = organic + water + ash * (1.0 / ASH_KG_PER_L)
    against_wall = touched(volume * c.per_litre)
    aired = c.exchange * against_wall * (1.0 + BUOYANCY_PER_K * np.maximum(over, 0.0))

    speed = cardinal(warm) * wet_and_aired(wet, 1.0 - solid / (volume + NOTHING))
    woken = c.waking * speed * fresh
    gone = c.eaten * state[FAST : WOOD + 1]
    humus = HUMUS * gone[0]
    wanted = (gone[0] - humus + gone[1] + gone[2]) * speed
    speed = speed * oxygen_factor(wanted / (aired * (OXYGEN_KG_PER_M3 / OXYGEN_KG_PER_KG) + NOTHING))
    gone *= speed
    humus *= speed
    burnt = gone[0] - humus + gone[1] + gone[2]

    dryness = wet * (1.0 + DRY_MATTER_HOLDS) / (wet + DRY_MATTER_HOLDS)
    evaporated = aired * np.maximum(vapour_kg_per_m3(warm) * dryness - c.air_vapour, 0.0)
    holds = HOLDS_ORGANIC * organic + (HOLDS_FRESH - HOLDS_ORGANIC) * fresh + (HOLDS_WOOD - HOLDS_ORGANIC) * wood
    free = np.maximum(water - holds - HOLDS_ASH * ash, 0.0)  # stands in the pores until it has run out
    drained = DRAIN_PER_HOUR * free
    lasting = np.maximum((solid - free) / (c.solid - AIR_BY_WOOD * wood / dry), solid)

    made = HEAT_KJ_PER_KG * burnt
    lost = (c.wall * against_wall + AIR_KJ_PER_M3_K * aired) * over
    lost += evaporated * (VAPOUR_KJ_PER_KG + STEAM_KJ_PER_KG_K * warm) + WATER_KJ_PER_KG_K * drained * warm
    if flows is not None:
        for row, flow in enumerate((burnt, evaporated, drained, made, lost)):
            flows[row] = flow
    out = np.empty((MOVING, *volume.shape), dtype=volume.dtype)
    out[WATER] = WATER_MADE_KG_PER_KG * burnt - evaporated - drained
    out[HEAT] = made - lost
    out[VOLUME] = SETTLE_PER_HOUR * (lasting - volume)
    out[FRESH] = -woken
    np.negative(gone, out=out[FAST : WOOD + 1])
    out[FAST] += woken
    out[SLOW] += humus
    return out
