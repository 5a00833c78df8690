"""What a visit asks beyond its three questions."""

import pytest

from bins.process.asking import Wanted, readings_wanted
from bins.process.maturity import SeedTest
from bins.process.site import SiteSettings
from bins.process.stage import Stage
from tests.bins.process.cast import OLD, after, batch, drum, filling, heat, smell, squeeze

SITE = SiteSettings()


def asked(day: float, stage: Stage = Stage.COMPOSTING, **more: object) -> list[Wanted]:
    wanted = readings_wanted(drum(filling(), batch(stage, **more)), SITE, after(day))
    assert {uid for uid, _ in wanted} <= {OLD}
    return [what for _, what in wanted]


@pytest.mark.parametrize(("day", "what"), [(48, []), (49, [Wanted.SQUEEZE]), (60, [Wanted.SQUEEZE])])
def test_a_squeeze_is_asked_a_week_before_the_days_are_full(day: float, what: list[Wanted]) -> None:
    assert asked(day) == what


def test_a_fresh_squeeze_is_not_asked_again_within_the_week() -> None:
    assert asked(56, squeezes=(squeeze(49),)) == []
    assert asked(57, squeezes=(squeeze(49),)) == [Wanted.SQUEEZE]


def test_a_cool_reading_asks_for_the_second_one_and_the_squeeze() -> None:
    assert asked(20, temperatures=(heat(19, "22"),)) == [Wanted.TEMPERATURE_AFTER_TURN, Wanted.SQUEEZE]
    assert asked(20, temperatures=(heat(19, "24"),)) == []
    assert asked(20, temperatures=(heat(19, "3", "2"),)) == []
    assert asked(20, temperatures=(heat(19, "10", "8"),)) == []
    assert asked(20, temperatures=(heat(20, "22"),), squeezes=(squeeze(20),)) == [Wanted.TEMPERATURE_AFTER_TURN]
    assert asked(20, temperatures=(heat(0, "22"),)) == []


@pytest.mark.parametrize(("day", "due"), [(6, False), (7, True)])
def test_a_test_is_asked_two_weeks_before_curing_ends_until_one_passed(day: float, due: bool) -> None:
    assert asked(day, Stage.CURING) == ([Wanted.MATURITY_TEST] if due else [])
    passed = (SeedTest(read_at=after(5), sown=4, sprouted=4),)
    assert asked(day, Stage.CURING, tests=passed) == []


def test_a_young_batch_is_left_alone() -> None:
    assert asked(10) == []


def test_a_bad_smell_is_asked_about_again_when_the_days_are_nearly_full() -> None:
    bad, felt = (smell(30, True),), (squeeze(48),)
    assert asked(48, smells=bad, squeezes=felt) == []
    assert asked(49, smells=bad, squeezes=felt) == [Wanted.SMELL]
    assert asked(49, smells=(*bad, smell(40, False)), squeezes=felt) == []
