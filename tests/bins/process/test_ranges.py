"""How good ranges were. Interval score: Gneiting & Raftery 2007, a = 0.2; the values are worked out by hand."""

import pytest

from bins.process.ranges import LEAST_SAID, Tried, interval_score, record


@pytest.mark.parametrize(
    ("truth", "score"),
    [(10, 20), (20, 20), (30, 20), (31, 30), (9, 30), (33, 50)],
)
def test_the_score_is_the_width_and_ten_for_each_day_outside(truth: int, score: float) -> None:
    assert interval_score(10, 30, truth) == score


def test_both_ends_are_inside() -> None:
    assert [Tried(10, 30, day, 0, 100).held for day in (9, 10, 30, 31)] == [False, True, True, False]


def test_a_record_has_the_means_and_says_something_from_three_on() -> None:
    tries = [Tried(10, 30, 20, 0, 100), Tried(10, 30, 33, 0, 100), Tried(5, 6, 5, 0, 10)]
    found = record(tries)
    assert found is not None
    assert (found.tried, found.held) == (3, 2)
    assert found.score_days == pytest.approx((20 + 50 + 1) / 3)
    assert found.rival_score_days == pytest.approx(70)
    assert found.says_something
    fewer = record(tries[: LEAST_SAID - 1])
    assert fewer is not None
    assert not fewer.says_something
    assert record([]) is None


def test_a_range_that_runs_backwards_is_none() -> None:
    with pytest.raises(ValueError, match="runs upwards"):
        Tried(3, 2, 2, 0, 9)
