"""What must be so for every member of the table of draws, whatever the numbers."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bins.process.model import state as rows
from bins.process.model.border import Addition, Insulation, Part, Vents, Vessel
from bins.process.model.days import day_coefficients
from bins.process.model.feed import add, feed_of
from bins.process.model.maturity import breathed
from bins.process.model.step import turn
from bins.process.model.timeline import Day

from .living import AT, CENTRE, SOME, live_batch, live_batches, mix


def test_bigger_is_hotter_for_every_member() -> None:
    vessels = tuple(Vessel(n) for n in (20, 60, 200))
    feeds = tuple({0: mix(0.2 * v.litres, "shavings", 0.03 * v.litres)} for v in vessels)
    life = live_batches(vessels, 20.0, feeds, 12, draws=SOME, turn_every=None)
    peaks = life.temperature_c.max(axis=0)
    # Up to where its own heat stops it: there a larger one is no hotter than the step of a day shows.
    assert ((np.diff(peaks, axis=0) > 0) | (peaks[1:] > 60)).all()


def test_dry_is_slower_for_every_member() -> None:
    wet = {0: mix(30, "pellets", 5)}
    dry = {0: mix(30, "pellets", 25)}
    # The same scraps, the same room: only so much dry wood that the mix is down to 45 %.
    life = live_batches((Vessel(200), Vessel(200)), 20.0, (wet, dry), 30, draws=SOME)
    assert (life.moisture[0, 0] > life.moisture[0, 1]).all()
    assert (life.fast_kg[-1, 0] < life.fast_kg[-1, 1]).all()


def test_foam_is_warmer_and_mesh_is_cooler_while_there_is_food() -> None:
    vessels = (Vessel(200, Insulation.FOAM), Vessel(200), Vessel(200, vents=Vents.MANY))
    life = live_batches(vessels, 12.0, ({0: mix(60, "shavings", 9)},) * 3, 40)
    means = life.temperature_c[1:8].mean(axis=0)[:, 0]  # later the warmer one has eaten more
    assert means[0] > means[1] > means[2]


@settings(max_examples=40, deadline=None)
@given(days=st.integers(0, 40), first=st.floats(1, 40), more=st.floats(0.1, 20), browns=st.floats(0, 3))
def test_added_scraps_never_lower_fast_matter_or_respiration(
    days: int, first: float, more: float, browns: float
) -> None:
    before = live_batch(Vessel(200), 15.0, {0: mix(first, "shavings", 0.2 * first)}, days + 1, draws=SOME).state
    after = before.copy()
    feed = feed_of((Addition(AT, mix(more, "shavings", browns * more / 10)),))
    add(after, feed[:, :, None, None] * np.ones_like(SOME.wall), SOME, np.float32(15.0))
    fast = after[rows.FRESH] + after[rows.FAST] - before[rows.FRESH] - before[rows.FAST]
    assert (fast >= 0).all()
    assert (breathed(after, SOME) >= breathed(before, SOME)).all()


def test_potential_respiration_is_not_fooled_by_cold_drought_or_want_of_air() -> None:
    warm = {0: mix(60, "shavings", 9)}
    drought = {0: mix(8, "pellets", 60)}
    flooded = {day: (Part("kitchen_scraps", 8, moisture=0.98),) for day in range(90)}
    life = live_batches((Vessel(200),) * 3, 20.0, (warm, drought, flooded), 90)
    cold = live_batch(Vessel(200), 1.0, {0: mix(3, "shavings", 0.5)}, 90)
    done = life.respiration[-1, 0, 0]
    assert done < life.respiration[-1, 1, 0]
    assert done < cold.respiration[-1, 0, 0]
    assert done < life.respiration[-1, 2, 0]


def test_nothing_is_ever_negative_or_lost_in_a_frozen_winter() -> None:
    life = live_batch(
        Vessel(100), lambda day: -15.0 if day < 60 else 20.0, {0: mix(20, "shavings", 3)}, 120, draws=SOME
    )
    assert (life.state[rows.WATER] >= 0).all()
    for row in (rows.FRESH, rows.FAST, rows.SLOW, rows.WOOD, rows.INERT, rows.ASH, rows.VOLUME):
        assert (life.state[row] >= 0).all()
    frozen = life.temperature_c[59]
    assert (frozen < 0).all()
    assert (life.temperature_c[90] > 5).all()  # it thawed, and took its time: a plateau at 0 °C
    assert (abs(life.temperature_c[1:60]) < 0.5).any()


@pytest.mark.parametrize("turned", [True, False])
def test_turning_restores_structure_and_no_heat(turned: bool) -> None:
    state = live_batch(Vessel(200), 18.0, {0: mix(60, "shavings", 9)}, 20, turn_every=None).state
    before = rows.air_share(state), rows.temperature_c(state)
    days = [Day(Vessel(200), 18.0)]
    turn(state, day_coefficients(CENTRE, days), float(turned))
    assert (rows.air_share(state) > before[0]).all() == turned
    assert (rows.temperature_c(state) == before[1]).all()
