"""What a reading says of a member: the right one gains, the wrong one loses, and nobody is ruled out by one reading."""

from decimal import Decimal

import numpy as np
import pytest

from bins.process.maturity import BagTest, SeedTest
from bins.process.model import state as rows
from bins.process.model.border import HarvestReading, Vessel
from bins.process.model.draws import behind
from bins.process.model.evidence import NEVER, REPEATED, TEMPERATURE_K, log_likelihood
from bins.process.model.maturity import flask_rise_k, potential_respiration
from bins.process.model.parameters import Draws
from bins.process.model.timeline import AnyReading
from bins.process.reading import LevelReading, SmellReading, Squeeze, SqueezeReading, TemperatureReading

from .living import AT, SOME, live_batch, mix
from .told import flask

VESSEL = Vessel(200)
STATE = live_batch(VESSEL, 18.0, {0: mix(50, "shavings", 8)}, 30, draws=SOME).state[:, 0]
DRAWS = Draws.of(behind()[4::8])  # the same as SOME's, one batch
BREATH = potential_respiration(STATE, DRAWS)


def told(reading: AnyReading) -> np.ndarray:
    return log_likelihood(reading, STATE, DRAWS, VESSEL)


@pytest.mark.parametrize(
    ("reading", "values", "said"),
    [
        (TemperatureReading(AT, Decimal(30)), rows.temperature_c(STATE), 30.0),
        (LevelReading(AT, 25), 100 * STATE[rows.VOLUME] / 200, 25.0),
        (HarvestReading(AT, 60.0), STATE[rows.VOLUME], 60.0),
        (flask(30, 18), flask_rise_k(BREATH), 18.0),
    ],
)
def test_who_is_nearest_to_a_measure_gains_most(reading: AnyReading, values: np.ndarray, said: float) -> None:
    off = abs(values - said)
    assert told(reading).argmax() == off.argmin()
    assert told(reading).argmin() == off.argmax() or told(reading).min() == NEVER


@pytest.mark.parametrize(
    ("reading", "values"),
    [
        (SqueezeReading(AT, Squeeze.WET), rows.moisture(STATE)),
        (SmellReading(AT, bad=True), -rows.air_share(STATE)),
        (SeedTest(AT, sown=4, sprouted=0), BREATH),
        (BagTest(AT, AT, bad_smell=True), BREATH),
    ],
)
def test_a_verdict_favours_those_whom_it_fits(reading: AnyReading, values: np.ndarray) -> None:
    found = told(reading)
    order = np.argsort(values)
    assert found[order[-1]] >= found[order[0]]
    assert (np.diff(found[order]) >= -1e-5).all()


def test_opposite_verdicts_favour_opposite_members() -> None:
    good, bad = told(SmellReading(AT, bad=False)), told(SmellReading(AT, bad=True))
    assert (np.argsort(good)[::-1] == np.argsort(bad)).mean() > 0.9


def test_no_single_reading_rules_anybody_out() -> None:
    for reading in (TemperatureReading(AT, Decimal(100)), flask(30, 70), SqueezeReading(AT, Squeeze.DRY)):
        assert (told(reading) >= NEVER).all()


def test_a_weighed_harvest_says_more_than_litres_alone() -> None:
    wet = float(rows.wet_kg(STATE).mean())
    alone, weighed = told(HarvestReading(AT, 60.0)), told(HarvestReading(AT, 60.0, wet))
    assert (weighed <= alone + 1e-6).all()
    assert (weighed < alone).any()


def test_a_temperature_is_believed_no_nearer_than_published_models_came() -> None:
    # Mason 2006, review, read: no published model met 5, 2 and 2 K or 8 h.
    at = float(np.median(rows.temperature_c(STATE)))
    exact, off = (
        log_likelihood(TemperatureReading(AT, Decimal(f"{at + by:.1f}")), STATE, DRAWS, VESSEL) for by in (0, 5)
    )
    nearest = abs(rows.temperature_c(STATE) - at).argmin()
    assert exact[nearest] - off[nearest] < 0.5 * REPEATED  # 5 K off costs a member less than one spread would
    assert TEMPERATURE_K >= 5
