"""What an addition brings into the state, in two groups: what members disagree about (scraps) and what not (browns)."""

from typing import Any

import numpy as np

from bins.process.degradability import BY_CODE, SPLITS
from bins.process.materials import BROWNS, KITCHEN_SCRAPS
from bins.process.model.border import Addition
from bins.process.model.parameters import Draws
from bins.process.model.rates import Floats
from bins.process.model.state import (
    ASH,
    FRESH,
    HEAT,
    INERT,
    NOTHING,
    SLOW,
    VOLUME,
    WATER,
    WOOD,
    dry_kg,
    heat_of,
)

# Columns of one group
F_FAST, F_SLOW, F_WOOD, F_INERT, F_ASH, F_WATER, F_LITRES = range(7)
SCRAPS, DRY = 0, 1  # the two groups
SHAPE = (2, 7)
COLDEST_FEED_C = 5.0  # chosen: a pail comes from a kitchen, however cold it is outside
MOST_TAKEN = 0.8  # chosen: no more of the slow share than this can turn out to be something else
_BROWNS = frozenset(material.code for material in BROWNS)


def feed_of(additions: tuple[Addition, ...]) -> Floats:
    """The sum of some additions: two groups of seven amounts, kg of each pool, kg of water, litres loose."""
    out = np.zeros(SHAPE)
    for addition in additions:
        for part in addition.parts:
            material, split = BY_CODE[part.code], SPLITS[part.code]
            moisture = material.moisture if part.moisture is None else part.moisture
            dry = part.wet_kg * (1 - moisture)
            density = material.kg_per_litre or KITCHEN_SCRAPS.kg_per_litre or 1.0
            litres = part.wet_kg / density if part.litres is None else part.litres
            shares = (split.fast, split.slow, split.wood, split.inert, split.ash)
            out[DRY if part.code in _BROWNS else SCRAPS] += [*(dry * s for s in shares), part.wet_kg - dry, litres]
        out[DRY, F_WATER] += addition.water_kg
    return out


def add(state: Floats, feed: Floats, draws: Draws, air_c: Any) -> None:
    """Put `feed` (two groups, seven amounts, then one value a column) into the state, as each member reads it."""
    scraps, browns = feed
    dry = scraps[F_FAST] + scraps[F_SLOW] + scraps[F_WOOD] + scraps[F_INERT] + scraps[F_ASH]
    wet = dry + scraps[F_WATER]
    wetter = np.minimum(scraps[F_WATER] + draws.scraps_moisture * wet, 0.97 * wet)
    water = draws.scraps_mass * np.maximum(wetter, 0.0)
    grown = draws.scraps_mass * (wet - np.maximum(wetter, 0.0)) / (dry + NOTHING)
    # What turns out fast or inert is taken from the slow share, and what turns out less goes to it.
    fast, inert = scraps[F_FAST] * draws.fast_share, scraps[F_INERT] * draws.inert_share
    more = fast - scraps[F_FAST] + inert - scraps[F_INERT]
    part = np.minimum(1.0, MOST_TAKEN * scraps[F_SLOW] / (np.maximum(more, 0.0) + NOTHING))
    fast = scraps[F_FAST] + (fast - scraps[F_FAST]) * part
    inert = scraps[F_INERT] + (inert - scraps[F_INERT]) * part

    before_dry, before_water = dry_kg(state), state[WATER].copy()
    state[FRESH] += grown * fast + browns[F_FAST]
    state[SLOW] += grown * (scraps[F_SLOW] - more * part) + browns[F_SLOW]
    state[WOOD] += grown * scraps[F_WOOD] + browns[F_WOOD]
    state[INERT] += grown * inert + browns[F_INERT]
    state[ASH] += grown * scraps[F_ASH] + browns[F_ASH]
    state[WATER] += water + browns[F_WATER]
    state[VOLUME] += draws.scraps_mass * scraps[F_LITRES] + browns[F_LITRES]
    came_dry, came_water = dry_kg(state) - before_dry, state[WATER] - before_water
    state[HEAT] += heat_of(np.maximum(air_c, COLDEST_FEED_C), came_water, came_dry)
