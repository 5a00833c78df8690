"""How well a member's state explains a reading: log likelihoods, each with the model's own error in its width.

The literature is blunt that such models miss temperatures by more than 5 K and peaks by more than 8 h (Mason 2006),
so the widths hold that discrepancy beside the reading's own error, and one reading never settles anything.
"""

from typing import Any

import numpy as np

from bins.process.maturity import BagTest, FlaskTest, SeedTest
from bins.process.model.border import HarvestReading, Vessel
from bins.process.model.maturity import flask_rise_k, potential_respiration
from bins.process.model.parameters import Draws
from bins.process.model.rates import Floats, exp
from bins.process.model.state import VOLUME, air_share, moisture, temperature_c, wet_kg
from bins.process.model.timeline import AnyReading
from bins.process.reading import LevelReading, SmellReading, Squeeze, SqueezeReading, TemperatureReading

TEMPERATURE_K = 7.0  # chosen: 5 K that no published model met (Mason 2006), 5 K for where the probe stands
REPEATED = 1 / 10  # chosen: ten readings of a kind that repeats weigh like one that stands alone
LEVEL_SHARE = 0.10  # chosen: nobody sees nearer than a quarter, and settling differs
# Chosen: the vessel, the handful, the moistening; and a quarter of the rise, since each flask and each mix has another
# curve, so that a hot flask weeks ahead says "not yet" and no more.
FLASK_K, FLASK_SHARE = 4.0, 0.25
HARVEST_LITRES_SHARE, HARVEST_KG_SHARE = 0.20, 0.15  # chosen: sieving and heaping; a scale
# A squeeze is dusty below 44 % and gives a drop or two at 50-60 % (LSU AgCenter); hands differ by 3 % (chosen).
DRY_BELOW, WET_ABOVE, HANDS = 0.46, 0.64, 0.03
# A seed or bag test passes for certain well below the yardstick and never far above it (chosen).
SEEDS_HALF, BAG_HALF, TEST_STEEPNESS = 5.0, 4.0, 3
SMELL_SPACE, SMELL_SLOPE = 0.20, 0.05  # chosen: with less free air than this more often bad than not
LEAST_CHANCE = 0.02  # chosen: anybody can be wrong one time in fifty, so nothing is impossible
NEVER = -50.0  # chosen: the log likelihood of a reading that a member can't explain at all


def log_likelihood(reading: AnyReading, state: Any, draws: Draws, vessel: Vessel) -> Floats:
    """One number a member (columns of `state`), up to a constant, not below `NEVER`."""
    value: Any
    if isinstance(reading, TemperatureReading):
        value = REPEATED * _normal((float(reading.drum_c) - temperature_c(state)) / TEMPERATURE_K)
    elif isinstance(reading, LevelReading):
        filled = np.minimum(state[VOLUME] / vessel.litres, 1.0)
        value = REPEATED * _normal((reading.percent / 100 - filled) / LEVEL_SHARE)
    elif isinstance(reading, SqueezeReading):
        value = REPEATED * _chance(_squeezed(reading.felt, moisture(state)))
    elif isinstance(reading, SmellReading):
        bad = _rising((SMELL_SPACE - air_share(state)) / SMELL_SLOPE)
        value = REPEATED * _chance(bad if reading.bad else 1.0 - bad)
    elif isinstance(reading, HarvestReading):
        value = _normal((reading.litres / (state[VOLUME] + 1e-9) - 1.0) / HARVEST_LITRES_SHARE)
        if reading.wet_kg is not None:
            value = value + _normal((reading.wet_kg / (wet_kg(state) + 1e-9) - 1.0) / HARVEST_KG_SHARE)
    else:
        value = _tested(reading, potential_respiration(state, draws))
    return np.asarray(np.maximum(value, NEVER), dtype=np.float64)


def _tested(test: BagTest | SeedTest | FlaskTest, respiration: Any) -> Any:
    if isinstance(test, FlaskTest):
        rise = float(test.highest_c - test.room_c)
        return _normal((rise - flask_rise_k(respiration)) / np.hypot(FLASK_K, FLASK_SHARE * rise))
    half = SEEDS_HALF if isinstance(test, SeedTest) else BAG_HALF
    passes = 1.0 / (1.0 + (respiration / half) ** TEST_STEEPNESS)
    return _chance(passes if test.passed else 1.0 - passes)


def _squeezed(felt: Squeeze, wet: Any) -> Any:
    dry, too_wet = _rising((DRY_BELOW - wet) / HANDS), _rising((wet - WET_ABOVE) / HANDS)
    if felt is Squeeze.DRY:
        return dry
    return too_wet if felt is Squeeze.WET else 1.0 - dry - too_wet + dry * too_wet


def _normal(off: Any) -> Any:
    return -0.5 * off * off


def _rising(off: Any) -> Any:
    return 1.0 / (1.0 + exp(-off))


def _chance(probability: Any) -> Any:
    return np.log(LEAST_CHANCE + (1.0 - 2.0 * LEAST_CHANCE) * probability)
