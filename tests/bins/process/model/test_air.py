"""The air of a day: between two months' middles, bent by what was read up to then."""

from datetime import date
from itertools import pairwise

import pytest

from bins.process.model.air import Air, usual_c
from bins.process.model.border import AirReading, Climate
from bins.process.model.timeline import Timeline, known

from .told import HISTORY, after, on, without

CLIMATE = Climate(tuple(float(m) for m in range(12)))


@pytest.mark.parametrize(
    ("day", "celsius"),
    [(date(2026, 1, 15), 0.0), (date(2026, 7, 16), 6.0), (date(2026, 1, 1), 5.1), (date(2026, 12, 31), 5.4)],
)
def test_the_middle_of_a_month_has_its_mean_and_the_turn_of_the_year_both(day: date, celsius: float) -> None:
    assert usual_c(CLIMATE, day, indoors=False) == pytest.approx(celsius, abs=0.4)


def test_a_room_has_its_own() -> None:
    assert usual_c(Climate(indoor_c=21.0), date(2026, 1, 15), indoors=True) == 21.0


def test_a_reading_bends_its_day_and_fades_and_never_bends_yesterday() -> None:
    plain = Air(without(temperatures=(), climate=Climate()))
    bent = Air(without(temperatures=(), climate=Climate(readings=(AirReading(after(10), 30.0),))))
    off = [bent.of(on(day), False) - plain.of(on(day), False) for day in range(9, 27)]
    assert off[0] == 0
    assert off[1] == pytest.approx((30.0 - plain.of(on(10), False)) / 2)  # the mean itself counts as one reading
    assert all(a > b for a, b in pairwise(off[1:16]))
    assert off[-1] == 0  # more than 14 days later


def test_what_is_not_known_yet_is_left_out() -> None:
    then = known(HISTORY, on(40))
    assert then.closed_at is None
    assert len(then.additions) == 41
    assert known(HISTORY, on(61)).closed_at == HISTORY.closed_at


def test_a_day_knows_what_happened_in_which_step() -> None:
    day = Timeline(HISTORY).day(on(30))
    assert set(day.feeds) == {15}  # 18:00 of twenty steps
    assert day.turns == frozenset({15})
    assert [type(r).__name__ for r in day.readings[15]] == ["LevelReading"]
    assert not day.closed
    assert Timeline(HISTORY).day(on(61)).closed
