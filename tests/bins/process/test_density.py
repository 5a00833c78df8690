"""Bucket, oven, pounds and the holding bucket against published values (M1, M6, M7, M9, M10)."""

import pytest

from bins.process.density import (
    BucketTest,
    HoldingBucket,
    calibrate_pail,
    density_kg_per_litre,
    holding_bucket,
    kg_per_cubic_metre,
    kg_per_litre,
    moisture_by_drying,
)
from bins.process.material import Material
from bins.process.mix import Portion


def test_m1_ten_grams_dry_to_two_point_three() -> None:
    # M1, C: Cornell Waste Management Institute, "Moisture Content" (Richard, Trautmann): 77 %
    assert moisture_by_drying(10, 2.3) == pytest.approx(0.77)


def test_m6_the_bucket_test() -> None:
    # M6, R: Livestock Industry's Environmental Improvement Organization, Japan: 10.3 L, 0.74 kg/L
    test = BucketTest(empty_kg=0.2, full_of_water_kg=10.5, full_of_mix_kg=7.8)
    assert test.litres == pytest.approx(10.3)
    assert test.kg_per_litre == pytest.approx(0.74, abs=0.005)


def test_m7_a_bucket_of_known_litres() -> None:
    # M7, C: Eawag/Sandec after Cooperband 2002: 20 L, 1 kg empty, 10 kg full is 0.45 kg/L
    assert density_kg_per_litre(1, 10, 20) == pytest.approx(0.45)


def test_m9_pounds_into_kilos() -> None:
    # M9, D from US EPA 2016 factors (C): 396 lb/yd3 and 3.8 lb/US gal
    assert kg_per_cubic_metre(396) == pytest.approx(234.9, abs=0.05)
    assert kg_per_litre(3.8) == pytest.approx(0.455, abs=0.0005)


def bucket(scraps_moisture: float, scraps_kg_per_litre: float, ratio: float, wood: float) -> HoldingBucket:
    scraps = Material.from_ratio(
        "scraps", carbon_percent=45, c_to_n=ratio, moisture_percent=scraps_moisture, available=0.90
    )
    pellets = Material.from_ratio("pellets", carbon_percent=50, c_to_n=wood, moisture_percent=8, available=0.15)
    # per litre of bucket: a quarter bedding at 650 kg/m3, the rest scraps
    return holding_bucket(Portion(pellets, 0.25 * 0.65), Portion(scraps, 0.75 * scraps_kg_per_litre))


def test_m10_a_holding_bucket_a_quarter_full_of_pellets() -> None:
    # M10: the practice is CP (common practice, no source); the figures D; carbon and C:N inputs M
    assert bucket(80, 0.45, 17, 570).moisture == pytest.approx(0.566, abs=0.0005)
    assert bucket(80, 0.24, 17, 570).moisture == pytest.approx(0.46, abs=0.005)
    assert bucket(80, 0.90, 17, 570).moisture == pytest.approx(0.66, abs=0.005)
    for scraps_moisture in (71, 85):
        assert 0.50 <= bucket(scraps_moisture, 0.45, 17, 570).moisture <= 0.60 + 5e-4
    assert bucket(70, 0.45, 17, 570).moisture < 0.50
    assert bucket(86, 0.45, 17, 570).moisture > 0.60
    assert bucket(80, 0.45, 17, 570).c_to_n == pytest.approx(54, abs=1)
    low, high = bucket(80, 0.45, 15, 500), bucket(80, 0.45, 19, 640)
    assert 16 <= low.available_c_to_n <= high.available_c_to_n <= 23
    assert bucket(80, 0.45, 17, 570).bedding_share_of_dry == pytest.approx(0.69, abs=0.005)


def test_ten_weighed_pails_calibrate_a_size_and_nine_do_not() -> None:
    pails = (2100, 2300, 2200, 2400, 2000, 2250, 2150, 2350, 2050, 2200)
    weight = calibrate_pail(pails)
    assert weight.mean_grams == 2200
    assert weight.low_grams == 2108  # 2.262 x 129.1 / sqrt(10) = 92.3 (computed by hand)
    assert weight.high_grams == 2292
    with pytest.raises(ValueError, match="10 weighed"):
        calibrate_pail(pails[:9])


def test_impossible_weights_are_refused() -> None:
    with pytest.raises(ValueError, match="empty one"):
        BucketTest(empty_kg=1, full_of_water_kg=1, full_of_mix_kg=2)
    with pytest.raises(ValueError, match="drying"):
        moisture_by_drying(10, 11)
    with pytest.raises(ValueError, match="drying"):
        moisture_by_drying(10, 0)
    assert moisture_by_drying(10, 10) == 0
    with pytest.raises(ValueError, match="holds something"):
        density_kg_per_litre(1, 10, 0)
