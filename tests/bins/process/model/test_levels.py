"""What is foretold of getting full, and the levels that people read."""

from dataclasses import replace

import numpy as np
import pytest

from bins.process.model.border import Addition, Future, History, Inflow, Outlook, Stay, Vessel
from bins.process.model.draws import ahead
from bins.process.model.forecast import forecast, prior_only
from bins.process.model.hindcast import hindcast
from bins.process.model.levels import _luck, factors
from bins.process.model.parameters import Draws
from bins.process.model.results import Forecast
from bins.process.reading import LevelReading

from .told import CLOSED_ON, DAILY, HISTORY, OPENED, after, on

FUTURE = Future(inflow=Inflow(DAILY), horizon_days=90)


def history(litres: float, *levels: tuple[int, int]) -> History:
    """Thirty days of pails into a hatch, and the levels read: (day, percent)."""
    return replace(
        HISTORY,
        stays=(Stay(OPENED, Vessel(litres)),),
        closed_at=None,
        additions=tuple(Addition(after(day), DAILY) for day in range(30)),
        turns=tuple(after(day) for day in range(0, 30, 3)),
        levels=tuple(LevelReading(after(day), percent) for day, percent in levels),
        temperatures=(),
        squeezes=(),
    )


def outlook(told: History, days: int = 29) -> Outlook:
    (found,) = hindcast([told], on(days))
    return Outlook(told, found, FUTURE)


def days_to_full(one: Forecast) -> float:
    return float(np.median(one.full_days))


def test_a_drum_read_half_empty_twice_is_not_full_tomorrow() -> None:
    # Pails in the books that would fill 80 L, and eyes that saw a quarter on day 10 and 40 % on day 25.
    seen = outlook(history(80, (10, 25), (25, 40)))
    (with_levels,), (without,) = forecast([seen]), prior_only([seen])
    assert days_to_full(without) <= 2
    assert days_to_full(with_levels) >= 3
    assert with_levels.level_percent.p10[0] < 50 < with_levels.level_percent.p50[0] < 70


def test_a_drum_read_fuller_than_reckoned_is_full_sooner() -> None:
    low, high = (forecast([outlook(history(200, (20, a), (28, b)))])[0] for a, b in ((20, 25), (55, 65)))
    assert days_to_full(high) < days_to_full(low)
    assert high.full.p50 is not None
    assert (high.full.p50 - on(29)).days <= 14


def test_many_levels_that_agree_are_believed_no_more_than_one() -> None:
    # Whoever ticks the quarter below does so at each visit: nine of them would drown what the books know.
    one, many = (
        factors([outlook(history(100, *((day, 40) for day in days)))], [Draws.of(np.zeros((64, 12)))]).std()
        for days in ((28,), (28 + hour / 24 for hour in range(5)))
    )
    assert one == pytest.approx(many, rel=0.05)  # five that were each believed would halve it


def test_levels_of_over_four_weeks_ago_and_of_tomorrow_say_nothing() -> None:
    # Day 29 is today: the 28 days begin with day 2.
    told = history(100, (1, 10), (30, 10))
    draws = [Draws.of(np.zeros((64, 12)))]
    assert (factors([outlook(told)], draws) == 1).all()
    assert not (factors([outlook(history(100, (2, 10)))], draws) == 1).all()
    assert not (factors([outlook(history(100, (29, 10)))], draws) == 1).all()


def test_a_closed_batch_and_one_that_nobody_looked_at_stay_as_reckoned() -> None:
    draws = [Draws.of(np.zeros((64, 12)))]
    closed = replace(history(100, (20, 30)), closed_at=after(25))
    assert (factors([outlook(closed)], draws) == 1).all()
    assert (factors([outlook(history(100))], draws) == 1).all()
    assert not (factors([outlook(replace(closed, closed_at=after(30)))], draws) == 1).all(), "that lies ahead"


def test_an_empty_looking_hatch_is_a_few_percent_full_and_never_none() -> None:
    found = factors([outlook(history(100, (28, 0)))], [Draws.of(np.zeros((64, 12)))])
    assert np.isfinite(found).all()
    assert (found > 0).all()


def test_together_is_as_alone() -> None:
    asked = [outlook(history(100, (28, 40))), outlook(history(60, (10, 25)), 20), outlook(history(100))]
    draws = [Draws.of(np.zeros((64, 12)))] * 3
    together = factors(asked, draws)
    for at, one in enumerate(asked):
        assert (together[at] == factors([one], draws[:1])[0]).all()


def test_ready_of_a_closed_batch_is_not_moved_by_what_was_read_of_its_level_just_now() -> None:
    # The level tells of fullness; how far it has rotted it tells only by its small weight in the hindcast.
    told = replace(HISTORY, levels=())
    (found,) = hindcast([told], CLOSED_ON)
    one = Outlook(told, found, FUTURE)
    other = replace(one, history=replace(told, levels=(LevelReading(after(60), 20),)))
    assert forecast([one])[0].ready_days == forecast([other])[0].ready_days


@pytest.mark.parametrize("column", range(3))
def test_luck_with_levels_goes_with_no_other_luck(column: int) -> None:
    assert abs(float(np.corrcoef(_luck(), ahead()[:, column])[0, 1])) < 0.02
