"""Rule 4's foresight."""

from dataclasses import replace
from uuid import UUID

import pytest

from bins.process.clash import days_until_mark, decide_clash
from bins.process.night import decide_night
from bins.process.proposal import Reason, Rule
from bins.process.site import SiteSettings
from bins.process.snapshot import DrumState, PlaceKind, PlaceSnapshot
from bins.process.stage import Stage
from tests.bins.process.cast import BIN, after, batch, drum, figures, filling, level, only

SITE = SiteSettings()
RISING = (level(10, 40), level(17, 50), level(24, 60))  # 10 % a week: at 75 in 10.5 days
NOW = after(24)


def test_a_full_hatch_before_an_empty_one_is_foreseen_with_the_days_short() -> None:
    proposal = only(decide_clash(drum(filling(*RISING), batch()), SITE, NOW))
    assert (proposal.rule, proposal.reason) == (Rule.CLASH, Reason.CLASH_FORESEEN)
    assert not proposal.changes_stage
    # 24 of 56 days composted, then 21 of curing
    assert figures(proposal) == {
        "days_until_mark": 10,
        "level_percent": 60,
        "days_until_free": 53,
        "days_short": 43,
    }


@pytest.mark.parametrize(("curing_days_left", "clash"), [(9, False), (10, False), (11, True)])
def test_no_clash_when_the_other_is_free_in_time(curing_days_left: int, clash: bool) -> None:
    curing = batch(Stage.CURING, curing_since=after(24 - 21 + curing_days_left))
    assert bool(decide_clash(drum(filling(*RISING), curing), SITE, NOW)) is clash


@pytest.mark.parametrize(
    ("levels", "foreseen"),
    [
        ((level(10, 40), level(17, 46), level(24, 52)), False),  # 26 days to the mark
        ((level(10, 47), level(17, 54), level(24, 61)), True),  # exactly 14
        ((level(10, 46), level(17, 53), level(24, 60)), False),  # 15
        ((level(17, 60), level(24, 60)), False),  # flat
        ((level(17, 60), level(24, 50)), False),  # sinking
        ((level(18, 40), level(24, 70)), False),  # six days: too short a line
        ((level(24, 70),), False),
        ((), False),
    ],
)
def test_warned_fourteen_days_ahead_by_the_trend(levels: tuple[object, ...], foreseen: bool) -> None:
    open_batch = filling(*levels)  # type: ignore[arg-type]
    assert bool(decide_clash(drum(open_batch, batch()), SITE, NOW)) is foreseen


def test_readings_over_four_weeks_old_are_left_aside() -> None:
    old = filling(level(-20, 0), level(17, 50), level(24, 60))
    assert days_until_mark(old, 75, NOW) == 10


def test_no_warning_with_an_empty_hatch_or_a_ready_batch_waiting_or_a_resting_drum() -> None:
    assert not decide_clash(drum(filling(*RISING), b_empty=True), SITE, NOW)
    assert not decide_clash(drum(filling(*RISING), batch(Stage.READY)), SITE, NOW)
    paused = replace(drum(filling(*RISING), batch()), state=DrumState.PAUSED)
    assert not decide_clash(paused, SITE, NOW)


def test_a_quarantined_hatch_is_no_way_out() -> None:
    proposal = only(decide_clash(drum(filling(*RISING), b_empty=True, b_shut=True), SITE, NOW))
    assert "days_until_free" not in figures(proposal)


def test_a_hatch_that_another_drums_lot_stands_in_is_no_way_out() -> None:
    proposal = only(decide_clash(drum(filling(*RISING)), SITE, NOW))  # B isn't empty, and holds no lot of this drum
    assert "days_until_free" not in figures(proposal)


@pytest.mark.parametrize(
    ("days_composted", "bin_litres", "reason"),
    [
        (46, 100, Reason.CLASH_CURING_BIN_FREE),  # 10 days of composting left, 10 to the mark
        (45, 100, Reason.CLASH_FORESEEN),
        (46, 99, Reason.CLASH_FORESEEN),  # the batch is 100 L
        (46, 0, Reason.CLASH_FORESEEN),
    ],
)
def test_a_free_curing_bin_that_fits_in_time_is_named(days_composted: int, bin_litres: int, reason: Reason) -> None:
    old = batch(composting_since=after(24 - days_composted))
    proposal = only(decide_clash(drum(filling(*RISING), old, bin_litres=bin_litres), SITE, NOW))
    assert proposal.reason is reason


def test_a_drum_that_is_full_already_says_only_that() -> None:
    full = filling(level(10, 60), level(17, 76, turned=True), level(24, 76))
    night = decide_night((drum(full, batch()),), SITE, NOW)
    assert [p.reason for p in night] == [Reason.NO_EMPTY_PLACE]


def test_a_third_hatch_that_is_free_sooner_prevents_the_clash() -> None:
    third = UUID(int=33)
    soon = batch(Stage.CURING, uid=UUID(int=34), place_uid=third, curing_since=after(24 - 20))
    two = drum(filling(*RISING), batch(), soon)
    three = replace(two, places=(*two.places, PlaceSnapshot(uid=third, mark="C", empty=False, litres=200)))
    assert not decide_clash(three, SITE, NOW)


def test_a_bin_that_is_taken_or_a_batch_that_stands_in_one_is_no_way_out() -> None:
    in_bin = batch(Stage.CURING, uid=UUID(int=35), place_uid=BIN, curing_since=after(20))
    young = batch(composting_since=after(20))
    proposal = only(decide_clash(drum(filling(*RISING), young, in_bin, bin_litres=100), SITE, NOW))
    assert proposal.reason is Reason.CLASH_FORESEEN
    with_two = drum(filling(*RISING), young, in_bin, bin_litres=100)
    spare = PlaceSnapshot(uid=UUID(int=36), mark="L", empty=True, kind=PlaceKind.CURING_BIN, litres=100)
    with_two = replace(with_two, places=(*with_two.places, spare))
    assert only(decide_clash(with_two, SITE, NOW)).reason is Reason.CLASH_FORESEEN


def test_a_reading_exactly_four_weeks_old_still_counts() -> None:
    assert days_until_mark(filling(level(-4, 40), level(24, 68)), 75, NOW) == 7
    assert days_until_mark(filling(level(-4.01, 40), level(24, 68)), 75, NOW) is None
