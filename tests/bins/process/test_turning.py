"""How often a drum is turned."""

import pytest

from bins.process.site import SiteSettings
from bins.process.snapshot import DrumSnapshot, DrumState
from bins.process.stage import Stage
from bins.process.turning import days_between_turns
from tests.bins.process.cast import BIN, after, batch, drum, filling, heat

SITE = SiteSettings()


def every(one: DrumSnapshot) -> int | None:
    return days_between_turns(one, SITE, after(1))


def test_an_open_drum_every_third_day_and_one_that_takes_nothing_weekly() -> None:
    # A published note prefers every 3 to 4 days (check D14).
    assert every(drum(filling(), batch())) == 3
    assert every(drum(batch())) == 7
    assert every(drum(batch(Stage.CURING))) == 7


def test_finished_compost_and_an_empty_drum_are_not_turned() -> None:
    assert every(drum(batch(Stage.READY))) is None
    assert every(drum()) is None


def test_a_lot_in_a_curing_bin_turns_no_drum() -> None:
    assert every(drum(batch(place_uid=BIN), bin_litres=200)) is None


@pytest.mark.parametrize(
    ("state", "days"), [(DrumState.IN_SERVICE, 3), (DrumState.PAUSED, 7), (DrumState.OUT_OF_SERVICE, None)]
)
def test_a_resting_drum_is_turned_weekly_and_one_out_of_use_never(state: DrumState, days: int | None) -> None:
    one = drum(filling(), batch())
    assert every(DrumSnapshot(uid=one.uid, places=one.places, batches=one.batches, state=state)) == days


def test_a_drum_is_turned_while_one_of_its_lots_is_not_frozen() -> None:
    cold = (heat(0.5, "-2", "-5"),)
    assert every(drum(filling(temperatures=cold), batch(temperatures=cold))) is None
    assert every(drum(filling(temperatures=cold), batch())) == 3
