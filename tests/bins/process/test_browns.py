"""The number on the sign, and the batch's correction."""

import pytest

from bins.process.amendment import Goal, NotAchievable
from bins.process.browns import SIGN_HALF_CUPS, Correction, SignNumber, correct_batch, cups_per_pail
from bins.process.material import Material
from bins.process.materials import CARDBOARD, COFFEE_GROUNDS, KITCHEN_SCRAPS, LEAVES, PELLETS, SAWDUST, SHAVINGS
from bins.process.mix import C_TO_N_GOOD, MOISTURE_GOOD, Portion, moisture


def sign(pail: float, scraps: Material, browns: Material, cup: float) -> SignNumber:
    answer = cups_per_pail(pail, scraps, browns, cup)
    assert isinstance(answer, SignNumber)
    return answer


@pytest.mark.parametrize(
    ("browns", "cup", "half_cups", "preferred"),
    [(PELLETS, 0.5, 6, True), (PELLETS, 1.0, 3, True), (SAWDUST, 0.5, 22, False), (CARDBOARD, 1.0, 12, True)],
)
def test_the_number_is_one_that_fits_a_sign_and_lands_in_the_bands(
    browns: Material, cup: float, half_cups: int, preferred: bool
) -> None:
    found = sign(5, KITCHEN_SCRAPS, browns, cup)
    assert (found.half_cups, found.preferred) == (half_cups, preferred)
    assert found.half_cups in SIGN_HALF_CUPS
    assert MOISTURE_GOOD.holds(found.moisture)
    assert C_TO_N_GOOD.meets(found.available_c_to_n, found.c_to_n)


def test_one_sign_number_less_would_miss_the_band() -> None:
    mix = (Portion.of_litres(KITCHEN_SCRAPS, 5), Portion.of_litres(PELLETS, 1.0))
    assert moisture(mix) > 0.60  # two cups of half a litre; three are asked


def test_scraps_that_are_right_already_need_no_browns() -> None:
    right = Material.from_dry("right", carbon_percent=42, nitrogen_percent=1.5, moisture_percent=55, kg_per_litre=0.4)
    assert sign(5, right, PELLETS, 0.5).half_cups == 0


def test_a_cup_too_small_for_a_sign_is_said_with_the_cup_that_would_do() -> None:
    answer = cups_per_pail(5, KITCHEN_SCRAPS, SAWDUST, 0.25)
    assert answer == NotAchievable(goal=Goal.CUP_TOO_SMALL, least_cup_litres=0.5)
    assert isinstance(cups_per_pail(5, KITCHEN_SCRAPS, SAWDUST, 0.5), SignNumber)


def test_browns_that_cannot_do_it_are_said_with_those_that_can() -> None:
    answer = cups_per_pail(5, KITCHEN_SCRAPS, LEAVES, 0.5)
    assert isinstance(answer, NotAchievable)
    assert (answer.goal, answer.ingredient) == (Goal.MOISTURE, "pellets")
    assert isinstance(cups_per_pail(5, KITCHEN_SCRAPS, PELLETS, 0.5), SignNumber)


WET_BATCH = (Portion.of_litres(KITCHEN_SCRAPS, 100), Portion.of_litres(SHAVINGS, 30))


def test_a_wet_batch_gets_the_fewest_litres_that_bring_it_in() -> None:
    found = correct_batch(WET_BATCH, PELLETS, room_litres=50)
    assert isinstance(found, Correction)
    assert (found.browns_litres, found.water_litres) == (23, 0)
    assert found.moisture_before == pytest.approx(0.759, abs=0.001)
    assert found.moisture_after <= 0.60
    assert moisture((*WET_BATCH, Portion.of_litres(PELLETS, 22))) > 0.60


def test_a_batch_in_the_acceptable_bands_is_left_alone() -> None:
    fine = (Portion.of_litres(KITCHEN_SCRAPS, 10), Portion.of_litres(PELLETS, 2))
    assert correct_batch(fine, PELLETS, 50) == Correction(0, 0, moisture(fine), moisture(fine))


def test_a_dry_batch_gets_water() -> None:
    dry = (Portion.of_litres(KITCHEN_SCRAPS, 20), Portion.of_litres(PELLETS, 30))
    found = correct_batch(dry, SHAVINGS, 50)
    assert isinstance(found, Correction)
    assert (found.browns_litres, found.water_litres) == (0, 11)
    assert found.moisture_after == pytest.approx(0.50, abs=0.005)


def test_no_room_or_the_wrong_browns_is_said_with_what_would_do() -> None:
    little_room = correct_batch(WET_BATCH, SHAVINGS, room_litres=50)
    assert isinstance(little_room, NotAchievable)
    assert (little_room.goal, little_room.ingredient) == (Goal.MOISTURE, "pellets")
    nothing = correct_batch(WET_BATCH, LEAVES, room_litres=0)
    assert isinstance(nothing, NotAchievable)
    assert nothing.ingredient is None


def test_no_number_asks_for_more_than_three_litres_of_browns_for_one_of_scraps() -> None:
    def scraps(moisture_percent: float) -> Material:
        return Material.from_ratio(
            "s", carbon_percent=45, c_to_n=17, moisture_percent=moisture_percent, kg_per_litre=0.45
        )

    light = Material.from_ratio(
        "light", carbon_percent=50, c_to_n=570, moisture_percent=15, available=0.15, kg_per_litre=0.10
    )
    # by hand: 2.25 kg at 90 % with 1.5 kg (15 L, ten cups) at 15 % is 60 %: preferred, and just three to one
    at_most = sign(5, scraps(90), light, 1.5)
    assert (at_most.half_cups, at_most.preferred) == (20, True)
    # at 92 % it would take twelve cups to be preferred: more than three to one
    beyond = sign(5, scraps(92), light, 1.5)
    assert (beyond.half_cups <= 20, beyond.preferred) == (True, False)
    twelve = (Portion.of_litres(scraps(92), 5), Portion.of_litres(light, 18))
    assert 0.50 < moisture(twelve) < 0.60


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="hold"):
        cups_per_pail(0, KITCHEN_SCRAPS, PELLETS, 0.5)
    with pytest.raises(ValueError, match="room"):
        correct_batch(WET_BATCH, PELLETS, -1)
    with pytest.raises(ValueError, match="per litre"):
        cups_per_pail(5, COFFEE_GROUNDS, PELLETS, 0.5)
