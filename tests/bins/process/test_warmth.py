"""Counting days above 10 °C."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from bins.process.site import INDOOR_AIR_C, SiteSettings
from bins.process.warmth import DayCount, count_warm_days, days_until_counted
from tests.bins.process.cast import CLOSED, after, batch, heat

SITE = SiteSettings()
COLD = replace(SITE, air_c_by_month=(Decimal(2),) * 12)


@pytest.mark.parametrize(("days", "counted"), [(0.99, 0), (1, 1), (1.99, 1), (2, 2)])
def test_a_day_counts_when_it_is_over(days: float, counted: int) -> None:
    assert count_warm_days(batch(), CLOSED, SITE, after(days)) == DayCount(counted, counted, 0)


@pytest.mark.parametrize(("mean_c", "counted"), [("9.9", 0), ("10", 0), ("10.1", 30)])
def test_without_readings_the_mean_air_decides_and_ten_is_not_above_ten(mean_c: str, counted: int) -> None:
    site = replace(SITE, air_c_by_month=(Decimal(mean_c),) * 12)
    assert count_warm_days(batch(), CLOSED, site, after(30)).counted_days == counted


@pytest.mark.parametrize(("drum_c", "counted"), [("10", 0), ("10.1", 7)])
def test_a_reading_decides_for_seven_days_and_then_the_air_again(drum_c: str, counted: int) -> None:
    read = batch(temperatures=(heat(0.5, drum_c),))
    count = count_warm_days(read, CLOSED, COLD, after(20))
    assert (count.elapsed_days, count.counted_days, count.read_days) == (20, counted, counted)


def test_a_cold_reading_takes_days_from_a_warm_month() -> None:
    assert count_warm_days(batch(temperatures=(heat(0.5, "4"),)), CLOSED, SITE, after(20)).counted_days == 13


def test_a_reading_of_tomorrow_changes_nothing_today() -> None:
    today = count_warm_days(batch(), CLOSED, COLD, after(3))
    assert count_warm_days(batch(temperatures=(heat(3.5, "30"),)), CLOSED, COLD, after(3)) == today


def test_a_winter_stands_still_outdoors_and_not_in_a_cellar() -> None:
    december, march = datetime(2026, 12, 1, tzinfo=UTC), datetime(2027, 3, 1, tzinfo=UTC)
    assert count_warm_days(batch(), december, SITE, march).counted_days == 0
    indoors = replace(SITE, air_c_by_month=INDOOR_AIR_C)
    assert count_warm_days(batch(), december, indoors, march).counted_days == 90


def test_looking_ahead_skips_the_cold_months() -> None:
    # the means are above 10 °C from April to October
    assert days_until_counted(0, SITE, datetime(2026, 12, 1, tzinfo=UTC)) == 0
    assert days_until_counted(5, SITE, datetime(2026, 6, 1, tzinfo=UTC)) == 5
    assert days_until_counted(1, SITE, datetime(2027, 3, 30, tzinfo=UTC)) == 2
    assert days_until_counted(1, COLD, datetime(2027, 3, 30, tzinfo=UTC)) is None


def test_a_reading_just_a_week_before_the_end_of_a_day_is_of_the_week_before() -> None:
    # at the closing instant: the first six days end within the week, the seventh ends a week later
    assert count_warm_days(batch(temperatures=(heat(0, "30"),)), CLOSED, COLD, after(20)).counted_days == 6


def test_looking_ahead_a_month_of_just_ten_degrees_does_not_count() -> None:
    ten = replace(SITE, air_c_by_month=(Decimal(10),) * 12)
    assert days_until_counted(1, ten, CLOSED) is None
