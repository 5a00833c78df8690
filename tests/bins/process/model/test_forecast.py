"""Ranges of days and amounts, and what moves them."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from bins.process.model.border import Addition, AirReading, Climate, Future, Outlook, Part
from bins.process.model.forecast import forecast, prior_only, resampled
from bins.process.model.results import Forecast

from .told import FUTURE, HISTORY, READLESS, after, flask, on, outlook, without


def one(asked: Outlook) -> Forecast:
    (found,) = forecast([asked])
    return found


def width(days: tuple[int, ...]) -> int:
    ordered = sorted(days)
    return ordered[57] - ordered[6]


@pytest.fixture(scope="module")
def filling() -> Forecast:
    return one(outlook(40))


@pytest.fixture(scope="module")
def closed() -> Forecast:
    return one(outlook(75))


def test_an_open_batch_gets_full_then_cures_then_is_ready(filling: Forecast) -> None:
    assert filling.full.p10 is not None
    assert filling.full.p10 > on(40)
    for full, curing, ready in zip(filling.full_days, filling.curing_days, filling.ready_days, strict=True):
        assert 1 <= full <= 121
        assert full <= curing or curing == 121
        assert curing + 20 <= ready or ready == 121


def test_a_closed_batch_has_no_day_of_getting_full(closed: Forecast) -> None:
    assert (closed.full.p10, closed.full.p50, closed.full.p90) == (None, None, None)
    assert set(closed.full_days) == {0}


def test_a_tumbler_closed_in_june_is_ready_before_autumn(closed: Forecast) -> None:
    assert closed.ready.p50 is not None
    assert date(2026, 7, 1) < closed.ready.p50 < date(2026, 10, 1)


def test_dates_run_forwards_and_bands_upwards(filling: Forecast, closed: Forecast) -> None:
    for found in (filling, closed):
        for days in (found.full, found.curing, found.ready):
            dated = [day for day in (days.p10, days.p50, days.p90) if day is not None]
            assert dated == sorted(dated)
        for series in (found.level_percent, found.temperature_c, found.moisture_percent, found.respiration):
            assert len(series.p10) == found.horizon_days
            assert all(a <= b <= c for a, b, c in zip(series.p10, series.p50, series.p90, strict=True))


def test_what_comes_out_is_less_than_what_went_in(closed: Forecast) -> None:
    went_in = 61 * (1.3 + 0.28)
    assert 0.2 * went_in < closed.compost_kg.p50 < 0.9 * went_in
    assert closed.compost_litres.p90 < 200


def test_a_flask_that_stays_cool_brings_the_day_nearer_and_a_hot_one_pushes_it_away() -> None:
    cool, none, hot = (one(outlook(80, without(tests=tests))) for tests in ((flask(79, 5),), (), (flask(79, 35),)))
    middle = [float(np.mean(found.ready_days)) for found in (cool, none, hot)]
    assert middle == sorted(middle)
    assert middle[2] - middle[0] >= 7


def test_no_reading_at_all_is_the_prior_and_the_widest() -> None:
    told = outlook(75, without(tests=(flask(74, 14),)))
    prior = prior_only([told])[0]
    assert prior.effective == 512
    # The air that was read stays: it is the weather, not the batch.
    air = Climate(readings=(AirReading(after(20), 13.0), AirReading(after(50), 19.0)))
    assert prior == one(outlook(75, replace(READLESS, climate=air)))
    assert width(prior.ready_days) > width(one(told).ready_days)


def test_a_remedy_is_a_run_with_and_a_run_without() -> None:
    asked = outlook(64)
    pellets = replace(FUTURE, additions=(Addition(after(66), (Part("pellets", 12.0),)),))
    with_it, without_it = forecast([replace(asked, future=pellets), asked])
    assert with_it.moisture_percent.p50[10] < without_it.moisture_percent.p50[10] - 5
    assert with_it.moisture_percent.p50[0] == without_it.moisture_percent.p50[0]


def test_rows_written_for_after_the_forecast_are_not_known_to_it() -> None:
    asked = outlook(40)
    cut = replace(
        HISTORY,
        closed_at=None,
        additions=tuple(a for a in HISTORY.additions if HISTORY.day_of(a.at) <= on(40)),
        levels=HISTORY.levels[:1],
        temperatures=HISTORY.temperatures[:1],
        squeezes=(),
    )
    assert one(asked) == one(replace(asked, history=cut))


def test_forecasts_together_are_what_they_are_alone_and_again() -> None:
    asked = [outlook(40), outlook(75), replace(outlook(75), future=Future(horizon_days=30, turn_every_days=None))]
    together = forecast(asked)
    assert together == tuple(one(single) for single in asked)
    assert together[2].ready.p90 is None


def test_resampling_keeps_the_share_of_each_member() -> None:
    share = np.zeros(512)
    share[[3, 100, 511]] = 0.5, 0.25, 0.25
    chosen: Any = resampled(share)
    assert [int((chosen == at).sum()) for at in (3, 100, 511)] == [32, 16, 16]


def test_fresh_scraps_past_closing_move_the_day() -> None:
    more = replace(
        HISTORY, additions=(*HISTORY.additions, *(Addition(after(70), a.parts) for a in HISTORY.additions[:8]))
    )
    assert np.mean(one(outlook(75, more)).ready_days) > np.mean(one(outlook(75)).ready_days)


def test_the_numbers_are_these_on_every_machine() -> None:
    # Frozen on 26 November 2026 with numpy 2.4. Whoever changes the model freezes anew, and raises state.VERSION.
    found = one(outlook(75, without(tests=(flask(74, 14),))))
    days = (found.ready.p10, found.ready.p50, found.ready.p90)
    assert days == (date(2026, 7, 8), date(2026, 7, 17), date(2026, 8, 12))
    assert found.temperature_c.p50[:3] == (26.1, 26.1, 25.8)
    assert found.respiration.p50[::20] == (8.18, 3.35, 1.25, 0.52, 0.23, 0.12)
    assert found.compost_litres.p50 == 106.053
