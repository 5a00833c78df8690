"""Amounts for a goal against published problems (M2, M4, M5, M8)."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bins.process.amendment import Goal, NotAchievable, amount_for_c_to_n, amount_for_moisture
from bins.process.material import Material
from bins.process.materials import COFFEE_GROUNDS, PELLETS, SAWDUST
from bins.process.mix import Portion, c_to_n, moisture


def wet(moisture_percent: float) -> Material:
    return Material("wet", 0.4, 0.02, moisture_percent / 100)


def kilos(answer: Portion | NotAchievable) -> float:
    assert isinstance(answer, Portion)
    return answer.wet_kg


def test_m2_leaves_for_wet_grass() -> None:
    # M2, C: Cornell Waste Management Institute, "Moisture Content" (Richard, Trautmann): 6.8 kg of leaves
    grass = (Portion(wet(77), 10),)
    assert kilos(amount_for_moisture(grass, wet(35), 0.60)) == pytest.approx(6.8)


def test_m4_sawdust_for_vegetable_waste() -> None:
    # M4, C: environmental-engineering textbook problem: exactly 0.3 kg
    vegetable = Material.from_ratio("vegetable", carbon_percent=44, c_to_n=11, moisture_percent=80)
    sawdust = Material.from_ratio("sawdust", carbon_percent=50, c_to_n=500, moisture_percent=50)
    assert vegetable.nitrogen_dry == pytest.approx(0.04)
    assert sawdust.nitrogen_dry == pytest.approx(0.001)
    assert kilos(amount_for_c_to_n((Portion(vegetable, 1),), sawdust, 20)) == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("percent", "printed", "within"),
    [(88, 340, 5), (86, 300, 5), (84, 260, 5), (82, 210, 5), (80, 170, 5), (75, 64, 0.5)],
)
def test_m5_sawdust_for_a_tonne_of_wet_manure(percent: float, printed: float, within: float) -> None:
    # M5, R: Livestock Industry's Environmental Improvement Organization, Japan (printed to two figures)
    answer = amount_for_moisture((Portion(wet(percent), 1000),), wet(25), 0.72)
    assert kilos(answer) == pytest.approx(printed, abs=within)


def test_m8_a_goal_above_both_ingredients_is_not_achievable_and_the_answer_names_what_would() -> None:
    # M8, D: sludge (M 80, N 5, C:N 6) with grass (M 80, N 6, C:N 15), goal 30
    sludge = Material.from_dry("sludge", carbon_percent=30, nitrogen_percent=5, moisture_percent=80)
    grass = Material.from_dry("grass", carbon_percent=90, nitrogen_percent=6, moisture_percent=80)
    answer = amount_for_c_to_n((Portion(sludge, 1),), grass, 30)
    assert isinstance(answer, NotAchievable)
    assert answer.goal is Goal.C_TO_N
    assert answer.ingredient is not None
    named = next(m for m in (SAWDUST, PELLETS) if m.code in answer.would_do)
    assert kilos(amount_for_c_to_n((Portion(sludge, 1),), named, 30)) > 0
    # among nitrogen-rich things nothing would, and the answer says that too
    nothing = amount_for_c_to_n((Portion(sludge, 1),), grass, 30, others=(COFFEE_GROUNDS,))
    assert isinstance(nothing, NotAchievable)
    assert nothing.ingredient is None


def test_the_least_weight_is_named_first() -> None:
    answer = amount_for_moisture((Portion(wet(80), 1),), wet(90), 0.6)
    assert isinstance(answer, NotAchievable)
    assert (answer.would_do[0], answer.would_do[-1]) == ("cardboard", "sawdust")  # 8 % and 39 % moist


def test_a_mix_at_its_goal_needs_nothing_and_goals_out_of_range_are_refused() -> None:
    assert kilos(amount_for_moisture((Portion(wet(60), 1),), wet(20), 0.6)) == 0
    with pytest.raises(ValueError, match="between 0 and 1"):
        amount_for_moisture((Portion(wet(60), 1),), wet(20), 60)
    for edge in (0, 1):
        with pytest.raises(ValueError, match="between 0 and 1"):
            amount_for_moisture((Portion(wet(60), 1),), wet(20), edge)
    with pytest.raises(ValueError, match="above 0"):
        amount_for_c_to_n((Portion(wet(60), 1),), wet(20), 0)


@given(st.floats(5, 95), st.floats(5, 95), st.floats(0.05, 0.95), st.floats(0.1, 1000))
def test_the_amount_for_moisture_reaches_the_goal_or_the_goal_lies_outside(
    now: float, other: float, goal: float, mass: float
) -> None:
    assume(abs(goal - other / 100) > 1e-3 and abs(goal - now / 100) > 1e-3)
    mix = (Portion(wet(now), mass),)
    answer = amount_for_moisture(mix, wet(other), goal)
    if isinstance(answer, Portion):
        assert moisture((*mix, answer)) == pytest.approx(goal, rel=1e-6)
    else:
        assert not min(now, other) / 100 < goal < max(now, other) / 100


@given(st.floats(5, 100), st.floats(5, 600), st.floats(5, 600))
def test_the_amount_for_c_to_n_reaches_the_goal_or_the_goal_lies_outside(now: float, other: float, goal: float) -> None:
    assume(abs(goal - now) > 0.01 and abs(goal - other) > 0.01)
    mix = (Portion(Material.from_ratio("a", carbon_percent=40, c_to_n=now, moisture_percent=80), 3),)
    answer = amount_for_c_to_n(
        mix, Material.from_ratio("b", carbon_percent=50, c_to_n=other, moisture_percent=30), goal
    )
    if isinstance(answer, Portion):
        assert c_to_n((*mix, answer)) == pytest.approx(goal, rel=1e-6)
    else:
        assert not min(now, other) < goal < max(now, other)
