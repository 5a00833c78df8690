"""Rule 6: 21 counted days of curing and one passed test."""

from decimal import Decimal

import pytest

from bins.process.maturity import BagTest, FlaskTest, MaturityTest, SeedTest
from bins.process.proposal import Proposal, Reason
from bins.process.ready import decide_ready
from bins.process.site import SiteSettings
from bins.process.stage import Stage
from tests.bins.process.cast import after, batch, drum, figures, heat, only, scraps

SITE = SiteSettings()


def seeds(day: float, sprouted: int = 3, sown: int = 4) -> SeedTest:
    return SeedTest(read_at=after(day), sown=sown, sprouted=sprouted)


def flask(day: float, highest_c: str, room_c: str = "20") -> FlaskTest:
    return FlaskTest(read_at=after(day), highest_c=Decimal(highest_c), room_c=Decimal(room_c))


def bag(start: float, end: float, bad: bool = False) -> BagTest:
    return BagTest(started_at=after(start), read_at=after(end), bad_smell=bad)


def at_day(day: float, *tests: MaturityTest, **more: object) -> tuple[Proposal, ...]:
    return decide_ready(drum(batch(Stage.CURING, tests=tests, **more)), SITE, after(day))


@pytest.mark.parametrize(("day", "ready"), [(20.99, False), (21, True), (22, True)])
def test_twenty_one_days_and_a_passed_test_make_it_ready(day: float, ready: bool) -> None:
    assert bool(at_day(day, seeds(10))) is ready


@pytest.mark.parametrize(
    ("test", "passed"),
    [
        (seeds(10, 2), False),
        (seeds(10, 3), True),  # G5, UF/IFAS Sarasota (R): 3 of 4 radish seeds sprout
        (seeds(10, 5, 7), False),
        (seeds(10, 6, 8), True),
        (flask(10, "29.9"), True),
        (flask(10, "30"), True),
        (flask(10, "30.1"), False),
        (bag(3, 9.9), False),
        (bag(3, 10), True),
        (bag(3, 10, bad=True), False),
    ],
)
def test_each_test_passes_at_its_edge(test: MaturityTest, passed: bool) -> None:
    assert test.passed is passed
    assert bool(at_day(30, test)) is passed


def test_days_without_a_test_are_not_enough() -> None:
    assert not at_day(100)


def test_only_tests_made_while_curing_count() -> None:
    assert not at_day(30, seeds(-1))
    assert not at_day(30, bag(-1, 8))
    assert at_day(30, bag(0, 7))
    assert not at_day(22, seeds(22.5))


def test_the_latest_of_a_kind_speaks_and_a_failed_kind_stays_visible() -> None:
    assert not at_day(30, seeds(10, 4), seeds(20, 1))
    proposal = only(at_day(30, seeds(10, 1), seeds(20, 4), flask(15, "40")))
    assert proposal.reason is Reason.CURED_AND_TESTED
    assert figures(proposal) == {
        "days_counted": 30,
        "days_elapsed": 30,
        "days_read": 0,
        "days_needed": 21,
        "tests_passed": 1,
        "tests_failed": 1,
    }


def test_cold_weeks_and_fresh_scraps_hold_it_up() -> None:
    assert not at_day(25, seeds(10), temperatures=(heat(0.5, "5"),))
    assert at_day(28, seeds(10), temperatures=(heat(0.5, "5"),))
    assert not at_day(30, seeds(10), fresh_scraps=(scraps(12, 1),))


def test_impossible_tests_are_refused() -> None:
    with pytest.raises(ValueError, match="no seed test"):
        seeds(1, 3, 3)
    with pytest.raises(ValueError, match="no seed test"):
        seeds(1, 5, 4)
    with pytest.raises(ValueError, match="before it was closed"):
        bag(2, 1)
