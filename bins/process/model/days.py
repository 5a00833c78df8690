"""Some batches lived for a day, all at once. Arrays are (rows, batches, members); a day is twenty steps."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from bins.process.model.balance import Coefficients
from bins.process.model.feed import SHAPE, add
from bins.process.model.parameters import Draws
from bins.process.model.rates import Floats
from bins.process.model.state import FAST, FRESH, INERT, SLOW, WARM_DAYS, temperature_c
from bins.process.model.step import STEPS_A_DAY, step, turn
from bins.process.model.timeline import AnyReading, Day
from bins.process.model.vessels import coefficients, makes

CHUNK_COLUMNS = 4096  # chosen: what stays in a processor's second cache; smaller ones pay for calls
DUST_KG = 1e-9
COUNTS_ABOVE_C = 10.0  # a colder day is none in the counts of the stages

Observe = Callable[[int, AnyReading, Any], None]


def day_coefficients(draws: Draws, days: Sequence[Day], pace: Any = 1.0) -> Coefficients:
    """The day's constants of each column. `pace` multiplies all speeds of decay."""
    makes_of = np.array([(*makes(day.vessel), day.air_c) for day in days])[:, :, None]
    litres, wall, vents, air_c = (makes_of[:, at] for at in range(4))
    return coefficients(draws, litres, wall, vents, air_c, pace)


def live(
    state: Floats, draws: Draws, days: Sequence[Day], c: Coefficients, observe: Observe | None = None, flows: Any = None
) -> None:
    """One day of `days[batch]`, in place. `observe(batch, reading, state of its members)` is called at each reading.

    `flows`: five rows like the state's that take up burnt, evaporated, drained kg, kJ made and lost, for those who
    audit; they are counted by the same stages as the state.
    """
    for slot in range(STEPS_A_DAY):
        _happen(slot, state, draws, days, c, observe)
        step(state, c, flows)
    _settle_dust(state)
    warm = temperature_c(state) > COUNTS_ABOVE_C
    closed = np.array([[float(day.closed)] for day in days])
    state[WARM_DAYS] = (state[WARM_DAYS] + warm) * closed


def _settle_dust(state: Floats) -> None:
    # What has all but gone is inert: numbers far below a grain are slow to reckon with (denormal) and tell nothing.
    for row in (FRESH, FAST, SLOW):
        dust = np.where(state[row] < DUST_KG, state[row], 0.0)
        state[row] -= dust
        state[INERT] += dust


def _happen(
    slot: int, state: Floats, draws: Draws, days: Sequence[Day], c: Coefficients, observe: Observe | None
) -> None:
    if any(slot in day.turns for day in days):
        turn(state, c, np.array([[float(slot in day.turns)] for day in days]))
    for batch, day in enumerate(days):
        if observe is not None:
            for reading in day.readings.get(slot, ()):
                observe(batch, reading, state[:, batch])
    if any(slot in day.feeds for day in days):
        nothing = np.zeros(SHAPE)
        feeds = np.stack([day.feeds.get(slot, nothing) for day in days], axis=-1)
        add(state, feeds[..., None], draws, c.air_c)
