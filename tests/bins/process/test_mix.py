"""C:N and moisture of mixes against published problems (M3, M4) and the basis trap."""

import pytest

from bins.process.material import Material
from bins.process.materials import BROWNS, EGGSHELL, KITCHEN_SCRAPS, MATERIALS, SAWDUST
from bins.process.mix import (
    C_TO_N_BEST,
    C_TO_N_GOOD,
    MOISTURE_BEST,
    MOISTURE_GOOD,
    Band,
    Portion,
    available_c_to_n,
    c_to_n,
    moisture,
    quality,
)


def test_m3_two_kilos_of_greenhouse_waste_and_manure() -> None:
    # M3, R: Soudi, IAV Hassan II, "Le compostage des déchets de cultures sous serre et du fumier", case 1
    first = Material.from_dry("first", carbon_percent=12, nitrogen_percent=0.3, moisture_percent=55)
    second = Material.from_dry("second", carbon_percent=30, nitrogen_percent=1.5, moisture_percent=40)
    mix = (Portion(first, 1), Portion(second, 1))
    assert [p.dry_kg for p in mix] == pytest.approx([0.45, 0.60])
    assert c_to_n(mix) == pytest.approx(22.6, abs=0.05)
    assert moisture(mix) == pytest.approx(0.475)


def test_m4_the_mean_of_the_ratios_is_not_the_ratio_of_the_mix() -> None:
    # M4, C: environmental-engineering textbook problem; 0.3 kg sawdust to 1 kg of vegetable waste makes 20
    vegetable = Material.from_dry("vegetable", carbon_percent=44, nitrogen_percent=4, moisture_percent=80)
    sawdust = Material.from_dry("sawdust", carbon_percent=50, nitrogen_percent=0.1, moisture_percent=50)
    mix = (Portion(vegetable, 1), Portion(sawdust, 0.3))
    assert c_to_n(mix) == pytest.approx(20)
    mistaken = sum(p.wet_kg * p.material.carbon_dry / p.material.nitrogen_dry for p in mix) / 1.3
    assert mistaken == pytest.approx(123.8, abs=0.05)


def test_percentages_of_the_fresh_mass_are_brought_to_dry_once() -> None:
    dry = Material.from_dry("a", carbon_percent=45, nitrogen_percent=3, moisture_percent=80)
    fresh = Material.from_fresh("a", carbon_percent=9, nitrogen_percent=0.6, moisture_percent=80)
    assert fresh.carbon_dry == pytest.approx(dry.carbon_dry)
    assert fresh.nitrogen_dry == pytest.approx(dry.nitrogen_dry)
    sawdust = Portion(SAWDUST, 0.5)
    assert c_to_n((Portion(fresh, 1), sawdust)) == pytest.approx(c_to_n((Portion(dry, 1), sawdust)))
    # the trap: fresh percentages read as dry ones shift the mix by half
    mistaken = Material.from_dry("a", carbon_percent=9, nitrogen_percent=0.6, moisture_percent=80)
    assert c_to_n((Portion(mistaken, 1), sawdust)) > 1.5 * c_to_n((Portion(dry, 1), sawdust))


def test_no_material_holds_more_than_itself_and_typical_ratios_are_the_printed_ones() -> None:
    with pytest.raises(ValueError, match="more than the dry matter"):
        # T6, C prints sawdust with N 0.24 % and C:N 442 together: 106 % carbon
        Material.from_dry("sawdust", carbon_percent=0.24 * 442, nitrogen_percent=0.24, moisture_percent=39)
    ratios = {m.code: m.carbon_dry / m.nitrogen_dry for m in MATERIALS if m is not EGGSHELL}
    assert {code: round(ratio) for code, ratio in ratios.items()} == {
        "kitchen_scraps": 17,
        "vegetable_produce": 19,
        "fruit_wastes": 40,
        "coffee_grounds": 20,  # M, T1 C
        "leaves": 54,
        "sawdust": 442,
        "straw": 80,
        "cardboard": 563,  # T6 C
        "shavings": 641,
        "pellets": 570,  # M
    }
    assert EGGSHELL.carbon_dry == 0  # Walton et al. 1973, R: its carbon is mineral


@pytest.mark.parametrize(
    ("browns", "low", "high"),
    [("pellets", 0.37, 0.38), ("sawdust", 0.655, 0.745), ("shavings", 0.655, 0.745), ("leaves", 0.655, 0.745)],
)
def test_one_to_one_by_volume_depends_on_the_browns(browns: str, low: float, high: float) -> None:
    # Z3, D: 37 % with pellets, 66-74 % with sawdust, shavings or leaves
    material = next(m for m in BROWNS if m.code == browns)
    assert low <= moisture((Portion.of_litres(KITCHEN_SCRAPS, 1), Portion.of_litres(material, 1))) <= high


def test_a_band_holds_both_its_ends_and_a_mix_is_judged_by_the_range_of_its_ratio() -> None:
    assert [MOISTURE_BEST.holds(m) for m in (0.499, 0.5, 0.6, 0.601)] == [False, True, True, False]
    assert [C_TO_N_GOOD.meets(*r) for r in ((10, 19), (10, 20), (15, 60), (40, 60), (41, 60))] == [
        False,
        True,
        True,
        True,
        False,
    ]
    raw = (Portion(KITCHEN_SCRAPS, 1),)
    assert available_c_to_n(raw) < c_to_n(raw)
    assert quality(raw) == 0


def test_the_bands_are_those_in_print() -> None:
    # Cooperband 2002; On-Farm Composting Handbook by way of Saskatchewan Agriculture
    assert (Band(20, 40), Band(25, 30)) == (C_TO_N_GOOD, C_TO_N_BEST)
    assert (Band(0.40, 0.65), Band(0.50, 0.60)) == (MOISTURE_GOOD, MOISTURE_BEST)


@pytest.mark.parametrize(
    ("code", "moisture_percent", "nitrogen_percent", "kg_per_m3"),
    [
        # T1: NRAES-54, table A.1 and additions, read in a copy
        ("vegetable_produce", (87, 87), (2.7, 2.7), (940, 940)),
        ("fruit_wastes", (62, 88), (0.9, 2.6), None),
        ("coffee_grounds", (75, 75), (2.28, 2.28), None),
        ("kitchen_scraps", (69, 80), (1.9, 2.9), (240, 900)),  # M, and density as printed from 0.24 to 0.9 kg/L
        ("eggshell", (29, 29), (1.2, 1.2), None),  # Walton et al. 1973, R
        # T6: BC Agricultural Composting Handbook, table 3, copy
        ("leaves", (38, 38), (0.5, 1.3), (60, 80)),
        ("sawdust", (19, 65), (0.06, 0.8), (207, 267)),
        ("straw", (4, 27), (0.3, 1.1), (34, 224)),
        ("cardboard", (8, 8), (0.10, 0.10), (154, 154)),
        ("shavings", None, (0.04, 0.23), None),  # M
        ("pellets", (0, 10), (0, 0.3), (600, 680)),  # EN 14961-2 data sheet, copy
    ],
)
def test_typical_materials_lie_in_their_printed_ranges(
    code: str,
    moisture_percent: tuple[float, float] | None,
    nitrogen_percent: tuple[float, float],
    kg_per_m3: tuple[float, float] | None,
) -> None:
    material = next(m for m in MATERIALS if m.code == code)
    found = [(100 * material.nitrogen_dry, nitrogen_percent), (100 * material.moisture, moisture_percent)]
    found.append((1000 * (material.kg_per_litre or 0), kg_per_m3))
    for value, printed in found:
        if printed is not None:
            assert printed[0] - 1e-6 <= value <= printed[1] + 1e-6


def test_nothing_and_nonsense_are_refused() -> None:
    with pytest.raises(ValueError, match="nothing"):
        moisture(())
    with pytest.raises(ValueError, match="nitrogen"):
        c_to_n((Portion(Material("water", 0, 0, 0.99), 1),))
    with pytest.raises(ValueError, match="0 kg"):
        Portion(SAWDUST, -1)
    with pytest.raises(ValueError, match="per litre"):
        Portion.of_litres(EGGSHELL, 1)
    with pytest.raises(ValueError, match="empty"):
        Band(2, 1)
    with pytest.raises(ValueError, match="above 0"):
        Material.from_ratio("x", carbon_percent=40, c_to_n=0, moisture_percent=10)
