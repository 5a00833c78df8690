"""Rule 10: winter."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from bins.process.proposal import Reason
from bins.process.site import TEMPERATE_AIR_C, SiteSettings
from bins.process.winter import (
    DayOfYear,
    WinterRule,
    days_until_spring,
    days_until_winter,
    decide_winter,
    is_frozen,
    is_winter,
    pails_until_spring,
)
from tests.bins.process.cast import after, batch, drum, figures, filling, heat, level, only

SITE = SiteSettings()
BY_MEANS, INDOORS = WinterRule(), WinterRule(indoor=True)
BY_DATES = WinterRule(first=DayOfYear(11, 15), spring=DayOfYear(4, 1))


@pytest.mark.parametrize(
    ("on", "by_dates", "by_means"),
    [
        (date(2026, 11, 14), False, False),
        (date(2026, 11, 15), True, False),
        (date(2026, 12, 1), True, True),  # the mean of December is 4 °C
        (date(2027, 1, 1), True, True),
        (date(2027, 2, 28), True, True),
        (date(2027, 3, 31), True, False),  # the mean of March is 6 °C
        (date(2027, 4, 1), False, False),
    ],
)
def test_winter_is_between_two_dates_or_below_five_degrees(on: date, by_dates: bool, by_means: bool) -> None:
    assert is_winter(BY_DATES, TEMPERATE_AIR_C, on) is by_dates
    assert is_winter(BY_MEANS, TEMPERATE_AIR_C, on) is by_means
    assert not is_winter(INDOORS, TEMPERATE_AIR_C, on)


def test_days_to_winter_and_to_spring() -> None:
    assert days_until_winter(BY_DATES, TEMPERATE_AIR_C, date(2026, 10, 18)) == 28
    assert days_until_winter(BY_DATES, TEMPERATE_AIR_C, date(2026, 12, 24)) == 0
    assert days_until_winter(INDOORS, TEMPERATE_AIR_C, date(2026, 10, 18)) is None
    assert days_until_spring(BY_DATES, TEMPERATE_AIR_C, date(2027, 3, 31)) == 1


def test_a_season_in_the_south_lies_within_one_year() -> None:
    south = WinterRule(first=DayOfYear(6, 1), spring=DayOfYear(9, 1))
    assert [is_winter(south, TEMPERATE_AIR_C, date(2026, m, 1)) for m in (5, 6, 8, 9)] == [
        False,
        True,
        True,
        False,
    ]


@pytest.mark.parametrize(("ahead", "warned"), [(29, False), (28, True), (1, True), (0, False), (None, False)])
def test_four_weeks_before_winter_a_drum_without_an_empty_hatch_is_named(ahead: int | None, warned: bool) -> None:
    site = replace(SITE, winter_in_days=ahead)
    proposals = decide_winter(drum(filling(), batch()), site, after(30))
    assert bool(proposals) is warned
    if warned:
        assert only(proposals).reason is Reason.WINTER_NEEDS_EMPTY_CHAMBER
        assert figures(only(proposals)) == {"days_until_winter": ahead}
    assert not decide_winter(drum(filling(), b_empty=True), site, after(30))


@pytest.mark.parametrize(("drum_c", "frozen"), [("0.1", False), ("0", True), ("-3", True)])
def test_a_drum_read_at_nought_is_frozen(drum_c: str, frozen: bool) -> None:
    assert is_frozen(batch(temperatures=(heat(29, drum_c),)), SITE, after(30)) is frozen


def test_without_a_reading_this_week_a_winter_month_at_nought_freezes_it() -> None:
    site = replace(SITE, winter=True, air_c_by_month=(TEMPERATE_AIR_C[0] - 1, *TEMPERATE_AIR_C[1:]))
    january, december = datetime(2027, 1, 10, tzinfo=UTC), datetime(2026, 12, 10, tzinfo=UTC)
    assert is_frozen(batch(), site, january)
    assert not is_frozen(batch(), site, december)
    assert not is_frozen(batch(), replace(site, winter=False), january)


@pytest.mark.parametrize(
    ("percent", "b_empty", "pails"),
    [
        (50, False, 8),  # 25 % of 200 L is 50 L; 6 L a pail
        (75, False, 0),
        (90, False, 0),
        (50, True, 33),  # and 150 L in B
    ],
)
def test_the_room_until_spring_is_counted_in_whole_pails(percent: int, b_empty: bool, pails: int) -> None:
    one = drum(filling(level(1, percent)), b_empty=b_empty)
    assert pails_until_spring(one, SITE, 5000, 1000, after(30)) == pails


def test_nonsense_seasons_are_refused() -> None:
    with pytest.raises(ValueError, match="neither"):
        WinterRule(first=DayOfYear(11, 1))
    with pytest.raises(ValueError, match="day"):
        DayOfYear(2, 29)
    with pytest.raises(ValueError, match="pail"):
        pails_until_spring(drum(filling()), SITE, 0, 0, after(30))
    with pytest.raises(ValueError, match="pail"):
        pails_until_spring(drum(filling()), SITE, 1, -1, after(30))
    assert pails_until_spring(drum(filling(level(1, 50))), SITE, 1, 0, after(30)) == 50_000


@pytest.mark.parametrize(("mean_c", "winter"), [("4.9", True), ("5", False), ("5.1", False)])
def test_a_month_of_five_degrees_is_not_below_five(mean_c: str, winter: bool) -> None:
    assert is_winter(BY_MEANS, (Decimal(mean_c),) * 12, date(2026, 7, 1)) is winter


@pytest.mark.parametrize(("day", "frozen"), [(23, False), (23.01, True), (30, True), (30.01, False)])
def test_a_frozen_reading_holds_for_the_week_before_now(day: float, frozen: bool) -> None:
    assert is_frozen(batch(temperatures=(heat(day, "-1"),)), SITE, after(30)) is frozen
