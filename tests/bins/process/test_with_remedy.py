"""The physical model's run with a remedy beside the one without."""

import pytest

from bins.process.causes import Cause
from bins.process.materials import PELLETS
from bins.process.model.border import Future, Outlook
from bins.process.model.forecast import forecast
from bins.process.remedies import Heap, figures_of
from bins.process.with_remedy import with_remedy
from tests.bins.process.model.told import after, outlook

HEAP = Heap(place_litres=200, level_percent=45, browns=PELLETS, is_filling=True)
TOMORROW = after(16)


@pytest.fixture(scope="module")
def plain() -> Outlook:
    return outlook(15, future=Future(horizon_days=10))


def test_browns_dry_a_wet_heap_and_water_wets_a_dry_one(plain: Outlook) -> None:
    drier = with_remedy(plain, figures_of(Cause.TOO_WET, HEAP), "pellets", TOMORROW)
    wetter = with_remedy(plain, figures_of(Cause.TOO_DRY, HEAP), "pellets", TOMORROW)
    assert drier is not None
    assert wetter is not None
    as_it_is, with_browns, with_water = forecast((plain, drier, wetter))
    assert with_browns.moisture_percent.p50[3] < as_it_is.moisture_percent.p50[3] - 1
    assert with_water.moisture_percent.p50[3] > as_it_is.moisture_percent.p50[3] + 1


def test_turning_more_often_is_a_run_of_its_own_and_never_less_often(plain: Outlook) -> None:
    often = with_remedy(plain, {"every_days": 1, "turns": 5}, "pellets", TOMORROW)
    assert often is not None
    assert often.future.turn_every_days == 1
    assert with_remedy(plain, {"every_days": 7}, "pellets", TOMORROW) is None


def test_what_the_model_cannot_see_has_no_second_run(plain: Outlook) -> None:
    for cause in (Cause.SOLDIER_FLIES, Cause.WAY_IN, Cause.WORN, Cause.TOO_EARLY):
        assert with_remedy(plain, figures_of(cause, HEAP), "pellets", TOMORROW) is None


def test_a_remedy_of_a_day_that_was_lived_is_refused(plain: Outlook) -> None:
    with pytest.raises(ValueError, match="still to be lived"):
        with_remedy(plain, {"water_litres": 3}, "pellets", after(15))
