"""From hour to hour: the third-order Runge-Kutta method of Shu and Osher, twenty steps a day.

Chosen by the error it shows against an adaptive integrator: the test beside it says how large.
"""

from typing import Any

import numpy as np

from bins.process.model.balance import AIR_BY_WOOD, Coefficients, change
from bins.process.model.rates import Floats
from bins.process.model.state import MOVING, NOTHING, VOLUME, WOOD, dry_kg, solid_l

STEPS_A_DAY = 20  # 16 miss by up to 2 K where a hot drum cools fast; 12 by 9 K and 3 % of solids
STEP_HOURS = 24.0 / STEPS_A_DAY
TURN_LOOSENS = 0.12  # chosen: free air space above the settled one right after a turn
TURN_REACHES = 0.5  # chosen: of the way there


def step(state: Floats, c: Coefficients, flows: Any = None) -> None:
    """One step, in place. `flows` (see balance.change), if given, is raised by what crossed the border meanwhile."""
    moving = state[:MOVING]
    begin = moving.copy()
    stages: Any = (None, None, None) if flows is None else np.zeros((3, 5, *moving.shape[1:]), dtype=moving.dtype)
    moving += STEP_HOURS * change(state, c, stages[0])
    moving += STEP_HOURS * change(state, c, stages[1])
    moving *= 0.25
    moving += 0.75 * begin
    moving += STEP_HOURS * change(state, c, stages[2])
    moving *= 2.0 / 3.0
    moving += begin * (1.0 / 3.0)
    if flows is not None:
        flows += STEP_HOURS * (stages[0] + stages[1] + 4.0 * stages[2]) / 6.0


def turn(state: Floats, c: Coefficients, turned: Any) -> None:
    """Loosen the columns where `turned` (0 or 1): it restores structure, and never packs."""
    wood = AIR_BY_WOOD * state[WOOD] / (dry_kg(state) + NOTHING)
    loose = solid_l(state) / (c.solid - TURN_LOOSENS - wood)
    state[VOLUME] += turned * TURN_REACHES * (loose - state[VOLUME]).clip(0.0)
