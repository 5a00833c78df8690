"""What isn't read never narrows a range: with any one reading the ready day's spread is smaller, on average over what
that reading could have said.

More can't be promised of one reading: one that says the unexpected may rightly widen a range. So each of 64 members is
taken for the truth in turn, the reading is what that member would show, with the error the product reckons with, and
the spread of all 512 members' ready days afterwards is averaged.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from math import hypot, sqrt
from typing import Any

import numpy as np
import pytest

from bins.process.maturity import FlaskTest, SeedTest
from bins.process.model.border import MEMBERS_AHEAD, MEMBERS_BEHIND, Outlook
from bins.process.model.draws import behind
from bins.process.model.evidence import (
    FLASK_K,
    FLASK_SHARE,
    LEVEL_SHARE,
    NEVER,
    REPEATED,
    TEMPERATURE_K,
    log_likelihood,
)
from bins.process.model.forecast import forecast
from bins.process.model.hindcast import hindcast, opened, weights
from bins.process.model.maturity import flask_rise_k, potential_respiration
from bins.process.model.parameters import Draws
from bins.process.model.state import VOLUME, temperature_c
from bins.process.model.timeline import AnyReading
from bins.process.reading import LevelReading, Squeeze, SqueezeReading, TemperatureReading

from .told import FUTURE, READLESS, on

DAY = 85  # closed 24 days ago, working
AT = datetime(2026, 6, 25, 18, tzinfo=UTC)
AIR = Decimal(18)
ERRORS = ((-sqrt(3), 1 / 6), (0.0, 2 / 3), (sqrt(3), 1 / 6))  # three points that stand for a normal error
DRAWS, VESSEL = Draws.of(behind()), READLESS.stays[0].vessel

Chances = list[tuple[AnyReading, float]]


@cache
def past() -> tuple[Any, Any]:
    """All members' states on the day, and the day on which each will be ready."""
    (found,) = hindcast([READLESS], on(DAY))
    state, evidence = opened(found.kept)
    outlooks = []
    for first in range(0, MEMBERS_BEHIND, MEMBERS_AHEAD):
        only = np.full_like(evidence, NEVER)
        only[first : first + MEMBERS_AHEAD] = 0.0
        blob = np.concatenate([state, only[None]]).astype("<f4").tobytes()
        outlooks.append(Outlook(READLESS, replace(found, kept=replace(found.kept, blob=blob)), FUTURE))
    days = [day for one in forecast(outlooks) for day in one.ready_days]
    return state, np.array(days, dtype=np.float64)


def temperature(state: Any, member: int) -> Chances:
    true = float(temperature_c(state)[member])
    said = [(true + error * TEMPERATURE_K, chance) for error, chance in ERRORS]
    return [(TemperatureReading(AT, Decimal(f"{c:.3f}"), AIR), chance) for c, chance in said]


def level(state: Any, member: int) -> Chances:
    true = float(state[VOLUME, member]) / VESSEL.litres
    said = [(round(100 * min(max(true + error * LEVEL_SHARE, 0), 1)), chance) for error, chance in ERRORS]
    return [(LevelReading(AT, percent), chance) for percent, chance in said]


def flask(state: Any, member: int) -> Chances:
    rise = float(flask_rise_k(potential_respiration(state, DRAWS))[member])
    width = hypot(FLASK_K, FLASK_SHARE * rise)
    said = [(max(20 + rise + error * width, 20.0), chance) for error, chance in ERRORS]
    return [(FlaskTest(AT, Decimal(f"{c:.3f}"), Decimal(20)), chance) for c, chance in said]


def squeeze(state: Any, member: int) -> Chances:
    return _by_likelihood([SqueezeReading(AT, felt) for felt in Squeeze], state, member, REPEATED)


def seeds(state: Any, member: int) -> Chances:
    return _by_likelihood([SeedTest(AT, sown=4, sprouted=n) for n in (1, 4)], state, member, 1.0)


def _by_likelihood(could_be: list[AnyReading], state: Any, member: int, weight: float) -> Chances:
    chances = np.exp([log_likelihood(one, state, DRAWS, VESSEL)[member] / weight for one in could_be])
    return list(zip(could_be, chances / chances.sum(), strict=True))


def variance(share: Any, days: Any) -> float:
    return float(share @ days**2 - (share @ days) ** 2)


@pytest.mark.parametrize("kind", [temperature, level, flask, squeeze, seeds])
def test_a_missing_reading_never_narrows_the_range_of_the_ready_day(kind: Callable[[Any, int], Chances]) -> None:
    state, days = past()
    without = variance(np.full(MEMBERS_BEHIND, 1 / MEMBERS_BEHIND), days)

    def with_it() -> Iterator[float]:
        for member in range(4, MEMBERS_BEHIND, MEMBERS_BEHIND // 64):
            for reading, chance in kind(state, member):
                share, _ = weights(log_likelihood(reading, state, DRAWS, VESSEL))
                yield chance * variance(share, days) / 64

    told = sum(with_it())
    print(f"{kind.__name__}: {sqrt(told):.2f} days of spread with it, {sqrt(without):.2f} without")
    assert told <= without
