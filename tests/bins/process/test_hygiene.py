"""Recorded heat: 40 CFR 257 appendix II and 503.32, before, at and after each edge."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from bins.process.hygiene import days_needed, recorded_heat
from bins.process.reading import TemperatureReading

BEGAN = datetime(2026, 5, 1, 8, tzinfo=UTC)


def read(*hours_and_c: tuple[float, str]) -> tuple[TemperatureReading, ...]:
    return tuple(TemperatureReading(BEGAN + timedelta(hours=h), Decimal(c)) for h, c in hours_and_c)


@pytest.mark.parametrize(("celsius", "days"), [(50, 13.170), (55, 2.6278), (60, 0.52431), (70, 30.06 / 1440)])
def test_time_and_temperature_of_the_rule(celsius: float, days: float) -> None:
    # 40 CFR 503.32, read in 15A NCAC 02T .1106: D = 131,700,000 / 10^(0.14 t). To explain, not to certify.
    assert days_needed(celsius) == pytest.approx(days, rel=5e-4)


def test_the_rule_says_nothing_below_50_degrees() -> None:
    with pytest.raises(ValueError, match="50"):
        days_needed(49.9)


@pytest.mark.parametrize(("last", "reached"), [(71, False), (72, True)])
def test_three_days_at_55_in_a_vessel(last: float, reached: bool) -> None:
    # 40 CFR 257 appendix II, read: 72 h at 55.0 met, 71 h not.
    found = recorded_heat(read((0, "55.0"), (24, "55.0"), (48, "55.0"), (last, "55.0")))
    assert found.is_hot_reached is reached
    assert found.hot == timedelta(hours=last)


@pytest.mark.parametrize(("hours", "reached"), [(4, True), (3, False)])
def test_five_days_at_40_with_four_hours_above_55(hours: float, reached: bool) -> None:
    # Same, lower process: 120 h at 40 with 4 h over 55 met, with 3 h not.
    found = recorded_heat(
        read((0, "40"), (24, "40"), (48, "55.1"), (48 + hours, "56"), (72, "40"), (96, "41"), (120, "40"))
    )
    assert found.is_warm_reached is reached
    assert found.hotter_while_warm == timedelta(hours=hours)
    assert found.is_hot_reached is False


def test_five_days_less_an_hour_are_not_five_days() -> None:
    found = recorded_heat(read((0, "40"), (20, "56"), (30, "56"), (54, "40"), (78, "40"), (102, "40"), (119, "40")))
    assert (found.warm, found.is_warm_reached) == (timedelta(hours=119), False)


@pytest.mark.parametrize(("gap", "hours"), [(24, 72), (24.01, 24)])
def test_over_a_gap_of_more_than_a_day_nothing_counts(gap: float, hours: float) -> None:
    found = recorded_heat(read((0, "60"), (24, "60"), (24 + gap, "60"), (48 + gap, "60")))
    assert found.hot == timedelta(hours=hours)


def test_of_two_neighbours_the_lower_counts() -> None:
    found = recorded_heat(read((0, "70"), (12, "54.9"), (24, "70"), (36, "55"), (48, "60")))
    assert found.hot == timedelta(hours=24)  # 24 to 48 h: 55, then 55


def test_order_doesn_t_matter_and_two_at_once_are_the_lower() -> None:
    rows = read((0, "60"), (10, "60"), (10, "50"), (20, "60"))
    assert recorded_heat(rows) == recorded_heat(rows[::-1])
    assert recorded_heat(rows).hot == timedelta(0)


def test_nothing_recorded_is_nothing_reached() -> None:
    for rows in ((), read((0, "70"))):
        found = recorded_heat(rows)
        assert (found.hot, found.is_hot_reached, found.is_warm_reached) == (timedelta(0), False, False)
