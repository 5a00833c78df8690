"""IPCC 2006, vol. 5, table 4.1: 4 g CH4 and 0.24 g N2O per kg of wet matter (N2O and the ranges from memory)."""

import pytest

from bins.process.greenhouse import Assessment, emission


@pytest.mark.parametrize(("assessment", "grams"), [(Assessment.AR5, 175.60), (Assessment.AR6, 173.52)])
def test_a_kilo_of_wet_scraps_by_either_assessment(assessment: Assessment, grams: float) -> None:
    # 4 x 28 + 0.24 x 265 = 112 + 63.6; 4 x 27.0 + 0.24 x 273 = 108 + 65.52
    assert emission(1, assessment).co2e_g == pytest.approx(grams, abs=1e-9)


def test_the_range_holds_the_default_and_is_wide() -> None:
    found = emission(1, Assessment.AR5)
    assert found.low_g == pytest.approx(0.03 * 28 + 0.06 * 265)
    assert found.high_g == pytest.approx(8 * 28 + 0.6 * 265)
    assert found.low_g < found.co2e_g < found.high_g


def test_nothing_gives_off_nothing_and_less_is_refused() -> None:
    assert emission(0, Assessment.AR6).co2e_g == 0
    with pytest.raises(ValueError, match="no mass"):
        emission(-0.001, Assessment.AR6)
