"""How often a drum is turned."""

from dataclasses import replace

import pytest

from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, DrumState
from bins.process.stage import Stage
from bins.process.turning import days_between_turns
from tests.bins.process.cast import BIN, A, B, after, batch, drum, filling, heat

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


def test_where_hatches_turn_apart_each_has_its_own_days() -> None:
    def days(*batches: BatchSnapshot) -> list[int | None]:
        one = replace(drum(*batches), turns_apart=True)
        return [days_between_turns(one, SITE, after(1), hatch=place) for place in (A, B)]

    assert days(filling(), batch()) == [3, 3]  # a lot that works by itself is moved by no other
    assert days(filling(), batch(Stage.CURING)) == [3, 7]
    assert days(filling(), batch(Stage.READY)) == [3, None]
    assert days(batch()) == [None, 3]
    cold = (heat(0.5, "-2", "-5"),)
    assert days(filling(temperatures=cold), batch()) == [None, 3]


def test_a_working_hatch_of_a_resting_drum_is_turned_weekly() -> None:
    one = replace(drum(batch()), turns_apart=True, state=DrumState.PAUSED)
    assert days_between_turns(one, SITE, after(1), hatch=B) == 7
