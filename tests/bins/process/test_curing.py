"""Rule 5: by cooling (published check G4) or by days."""

from dataclasses import replace
from decimal import Decimal

import pytest

from bins.process.curing import decide_curing
from bins.process.proposal import Proposal, Reason, Rule
from bins.process.reading import Squeeze, TemperatureReading
from bins.process.site import SiteSettings
from bins.process.stage import Stage
from tests.bins.process.cast import after, batch, drum, figures, heat, only, scraps, smell, squeeze

SITE = SiteSettings()


def after_days(days: float, **more: object) -> tuple[Proposal, ...]:
    return decide_curing(drum(batch(**more)), SITE, after(days))


@pytest.mark.parametrize(
    ("readings", "done"),
    [
        # G4, AgriFutures curing guide (R): outside 18 °C, drum 22 / 24 after a turn, moisture in range
        ((heat(20, "22"), heat(21, "22")), True),
        ((heat(20, "24"), heat(21, "24")), False),
        ((heat(20, "22"), heat(21, "24")), False),
        ((heat(20, "23.9"), heat(21, "23.9")), True),
        # how far apart: 1 to 10 days, both ends in
        ((heat(20, "22"), heat(20.99, "22")), False),
        ((heat(20, "22"), heat(30, "22")), True),
        ((heat(20, "22"), heat(30.01, "22")), False),
        # a warm one in between, or after
        ((heat(20, "22"), heat(21, "30"), heat(22, "22")), False),
        ((heat(20, "22"), heat(21, "22"), heat(22, "30")), False),
        ((heat(19, "40"), heat(20, "22"), heat(21, "22")), True),
        # half a day apart doesn't hide the one of the day before
        ((heat(19, "22"), heat(20.5, "22"), heat(21, "22")), True),
        # not after a turn, or without the air
        ((heat(20, "22"), heat(21, "22", turned=False)), False),
        ((heat(20, "22"), heat(21, "22", air_c=None)), False),
        ((heat(20, "22"),), False),
        # a cold drum is not a finished drum
        ((heat(20, "10", "8"), heat(21, "10", "8")), False),
        ((heat(20, "10.1", "8"), heat(21, "10.1", "8")), True),
        # at the instant of the night; before it was closed
        ((heat(31, "22"), heat(32, "22")), True),
        ((heat(0, "22"), heat(1, "22")), False),
        ((heat(-1, "22"), heat(1, "22")), False),
    ],
)
def test_two_cool_temperatures_after_turns_end_composting(readings: tuple[TemperatureReading, ...], done: bool) -> None:
    assert bool(after_days(32, temperatures=readings, squeezes=(squeeze(30),))) is done


def test_the_figures_of_cooling_are_the_two_readings_and_the_days() -> None:
    cool = (heat(20, "22"), heat(21, "23"))
    proposal = only(after_days(22, temperatures=cool, squeezes=(squeeze(21),)))
    assert (proposal.rule, proposal.reason) == (Rule.CURE, Reason.COOLED_DOWN)
    assert (proposal.from_stage, proposal.to_stage) == (Stage.COMPOSTING, Stage.CURING)
    assert figures(proposal) == {
        "cool_within_c": Decimal(6),
        "first_drum_c": Decimal(22),
        "first_air_c": Decimal(18),
        "second_drum_c": Decimal(23),
        "second_air_c": Decimal(18),
        "days_counted": 22,
        "days_elapsed": 22,
        "days_read": 3,
        "days_needed": 56,
    }


@pytest.mark.parametrize(("days", "done"), [(55.99, False), (56, True), (57, True)])
def test_fifty_six_counted_days_end_composting(days: float, done: bool) -> None:
    proposals = after_days(days, squeezes=(squeeze(50),))
    assert bool(proposals) is done
    if done:
        assert only(proposals).reason is Reason.DAYS_COMPOSTED


def test_cold_days_do_not_count() -> None:
    cold = replace(SITE, air_c_by_month=(Decimal(2),) * 12)
    assert not decide_curing(drum(batch(squeezes=(squeeze(190),))), cold, after(200))


@pytest.mark.parametrize(("age", "holds"), [(13.9, True), (14, True), (14.1, False)])
def test_a_squeeze_holds_two_weeks(age: float, holds: bool) -> None:
    assert bool(after_days(60, squeezes=(squeeze(60 - age),))) is holds


def test_dry_or_unknown_is_not_done() -> None:
    assert not after_days(60)
    assert not after_days(60, squeezes=(squeeze(58), squeeze(59, Squeeze.DRY)))
    assert after_days(60, squeezes=(squeeze(58, Squeeze.DRY), squeeze(59, Squeeze.WET)))


def test_a_bad_smell_holds_up_the_days_until_a_visit_says_it_is_gone() -> None:
    wet = (squeeze(59),)
    assert not after_days(60, squeezes=wet, smells=(smell(40, True),))
    assert after_days(60, squeezes=wet, smells=(smell(40, True), smell(59, False)))


@pytest.mark.parametrize(("millilitres", "needed"), [(10, 57), (1000, 63), (1999, 70)])
def test_noted_fresh_scraps_move_the_date(millilitres: int, needed: int) -> None:
    # the batch is 100 L: 2 % is 2,000 ml and would add 14 days
    more = {"squeezes": (squeeze(needed - 3),), "fresh_scraps": (scraps(10, millilitres),)}
    assert not after_days(needed - 0.1, **more)
    assert after_days(needed, **more)


def test_too_many_fresh_scraps_wait_for_their_own_answer() -> None:
    assert not after_days(90, squeezes=(squeeze(89),), fresh_scraps=(scraps(10, 2000),))
    assert after_days(90, squeezes=(squeeze(89),), fresh_scraps=(scraps(10, 2000, removed=True),))


def test_a_count_that_began_again_counts_from_there() -> None:
    again = {"composting_since": after(10), "squeezes": (squeeze(60),)}
    assert not after_days(65.9, **again)
    assert after_days(66, **again)
