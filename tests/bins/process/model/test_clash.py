"""The open hatch against the others, by counting pairs."""

from dataclasses import replace

import pytest

from bins.process.model.clash import PICK_UP_DAYS, clash
from bins.process.model.forecast import forecast
from bins.process.model.results import Forecast

from .told import outlook


@pytest.fixture(scope="module")
def two() -> tuple[Forecast, Forecast]:
    filling, other = forecast([outlook(40), outlook(40)])
    return filling, other


def told(one: Forecast, *, full: int = 0, curing: int = 0, ready: int = 0) -> Forecast:
    return replace(one, full_days=(full,) * 64, curing_days=(curing,) * 64, ready_days=(ready,) * 64)


@pytest.mark.parametrize(("ready", "probability"), [(30 - PICK_UP_DAYS, 0.0), (31 - PICK_UP_DAYS, 1.0), (60, 1.0)])
def test_full_on_the_day_another_is_empty_is_no_clash(
    two: tuple[Forecast, Forecast], ready: int, probability: float
) -> None:
    found = clash(told(two[0], full=30), [told(two[1], ready=ready)])
    assert found.probability == probability
    assert (found.days_short is None) == (probability == 0)


def test_pairs_are_counted_all_against_all(two: tuple[Forecast, Forecast]) -> None:
    filling = replace(two[0], full_days=(10,) * 16 + (40,) * 48)
    other = replace(two[1], ready_days=(20 - PICK_UP_DAYS,) * 32 + (60 - PICK_UP_DAYS,) * 32)
    # 10 < 20 and 60; 40 < 60 only
    assert clash(filling, [other]).probability == pytest.approx(0.25 + 0.75 * 0.5)


def test_a_free_place_means_no_clash_and_a_bin_makes_one_less_likely(two: tuple[Forecast, Forecast]) -> None:
    filling, other = told(two[0], full=30), told(two[1], curing=20, ready=50)
    assert clash(filling, [other]).probability == 1
    assert clash(filling, [other], has_bin=True).probability == 0
    assert clash(filling, [other], free_places=1).probability == 0


def test_two_others_are_as_good_as_the_sooner(two: tuple[Forecast, Forecast]) -> None:
    filling = told(two[0], full=30)
    late, soon = told(two[1], ready=90), told(two[1], ready=5)
    assert clash(filling, [late]).probability == 1
    assert clash(filling, [late, soon]).probability == 0


def test_a_batch_never_full_within_the_horizon_never_clashes(two: tuple[Forecast, Forecast]) -> None:
    found = clash(told(two[0], full=121), [told(two[1], ready=121)])
    assert found.probability == 0
    assert found.full.p10 is None


def test_what_can_t_be_compared_is_refused(two: tuple[Forecast, Forecast]) -> None:
    with pytest.raises(ValueError, match="different days"):
        clash(two[0], [replace(two[1], horizon_days=10)])
    with pytest.raises(ValueError, match="closed"):
        clash(told(two[0], full=0), [two[1]])
