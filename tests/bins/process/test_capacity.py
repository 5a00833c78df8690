"""The sum in print, and the very chamber rules run over thirty years."""

import pytest

from bins.process.capacity import Load, Run, carried, days_to_empty, run, sum_in_print
from bins.process.site import SiteSettings

USUAL, LITRES = Load(), 500
SETTINGS = SiteSettings()


@pytest.mark.parametrize(
    ("rest_weeks", "fill", "households"),
    [
        (8, 1.0, 12.78),  # Z3: 12 households brim-full (12.8)
        (8, 0.9, 11.51),  # Z3: 11 at 90 %
        (12, 1.0, 8.52),  # Z3b: 8
        (12, 0.75, 6.39),  # Z3b: 6
    ],
)
def test_the_sum_in_print(rest_weeks: float, fill: float, households: float) -> None:
    # 500 L, browns 1:1 by volume, 2.2 kg a household and week, 0.45 kg/L, settling 0.5.
    assert round(sum_in_print(LITRES, USUAL, rest_weeks=rest_weeks, fill=fill), 2) == households


def test_a_household_settles_to_under_five_litres_a_week() -> None:
    assert round(USUAL.litres_per_week, 2) == 4.89


def test_the_default_rest_is_twelve_weeks_and_carries_six_to_eight() -> None:
    assert days_to_empty(SETTINGS) == 84
    one = carried(LITRES, 1, USUAL, SETTINGS)
    assert (one.careful, one.most) == (6, 8)


def test_a_household_brings_what_published_schemes_weighed_and_gets_the_room_they_give() -> None:
    # La Rochelle, Mauges, Bressuire, Rennes, Vannes, Paris 13e, Greenwich, read: 1.4 to 3.5 kg a household and week,
    # plan with 2.2. Kreis Mettmann, read, and a French circular of 2012, copy: 100 to 120 L of bin for each household
    # taking part, 5 m3 for 50 families. Ours asks for more, since a drum's hatch rests closed and is never heaped.
    assert 1.4 <= Load().kg_per_week == 2.2 <= 3.5
    one = carried(LITRES, 1, USUAL, SETTINGS)
    assert 100 <= 120 <= 2 * LITRES / one.most <= 2 * LITRES / one.careful <= 170


def test_each_drum_is_rounded_down_since_a_household_has_one_drum() -> None:
    three = carried(LITRES, 3, USUAL, SETTINGS)  # 3 x 6.39 would be 19
    assert (three.careful, three.most) == (18, 24)


@pytest.fixture(scope="module")
def runs() -> dict[tuple[int, bool], Run]:
    return {
        (households, has_bin): run(households, LITRES, USUAL, SETTINGS, with_curing_bin=has_bin)
        for households in (6, 8, 12)
        for has_bin in (False, True)
    }


def test_thirty_years_of_the_rules_keep_a_hatch_open(runs: dict[tuple[int, bool], Run]) -> None:
    print("households  curing bin  days open   level at closing, %")
    for (households, has_bin), one in runs.items():
        levels = one.levels_at_closing
        shown = f"{min(levels)} to {max(levels)}, mean {sum(levels) / len(levels):.0f}"
        print(f"{households:>10}  {'yes' if has_bin else 'no':>10}  {100 * one.open_days / one.days:>7.1f} %   {shown}")
    # The acceptance of the rules: at 6 to 8 households at least 85 % without a curing bin, 98 % with one.
    for households in (6, 8):
        assert runs[households, False].open_percent >= 85
        assert runs[households, True].open_percent >= 98


def test_the_order_is_that_of_the_plain_day_by_day_sum(runs: dict[tuple[int, bool], Run]) -> None:
    # Z3c: 12 / 8 / 6 households 70 / 89 / 100 % of days, with a curing bin 89 / 100 / 100 (order, not second digit).
    without = [runs[n, False].open_percent for n in (12, 8, 6)]
    with_bin = [runs[n, True].open_percent for n in (12, 8, 6)]
    assert without == sorted(without)
    assert with_bin == sorted(with_bin)
    assert all(more >= less for more, less in zip(with_bin, without, strict=True))
    for found, printed in zip(without + with_bin, (70, 89, 100, 89, 100, 100), strict=True):
        assert abs(found - printed) <= 5


def test_a_batch_that_closes_by_level_was_seen_twice_at_the_mark(runs: dict[tuple[int, bool], Run]) -> None:
    # 8 households fill 1.1 % a day: two visits past the mark, and not so late that nothing tumbles any more.
    later = runs[8, False].levels_at_closing[1:]
    assert min(later) >= 75
    assert max(later) <= 85


def test_a_run_is_the_same_again() -> None:
    assert run(8, LITRES, USUAL, SETTINGS, years=3) == run(8, LITRES, USUAL, SETTINGS, years=3)


def test_a_chamber_that_rests_longer_opens_later() -> None:
    slow = SiteSettings(composting_days=112)
    assert run(8, LITRES, USUAL, slow, years=5).open_days < run(8, LITRES, USUAL, SETTINGS, years=5).open_days


@pytest.mark.parametrize("fill", [0, 1.01])
def test_a_fill_beyond_its_range_is_refused(fill: float) -> None:
    with pytest.raises(ValueError, match="fill"):
        sum_in_print(LITRES, USUAL, rest_weeks=12, fill=fill)


@pytest.mark.parametrize("more", [{"kg_per_week": 0}, {"settled": 0}, {"browns_per_scraps": -0.1}])
def test_a_load_of_nothing_is_refused(more: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="load"):
        Load(**more)
