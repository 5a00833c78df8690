"""One parameter set, the centre of the priors, against published batches. Recipes that print leaves open are chosen
here.

The bins' last organic matter is a known miss and printed: the model keeps more of it than those bins did.
"""

from datetime import date

import numpy as np
import pytest

from bins.process.model.air import usual_c
from bins.process.model.border import Climate, Vessel
from bins.process.model.maturity import DONE, LENIENT

from .living import Life, live_batch, live_batches, mix


def peak(life: Life, days: int | None = None) -> float:
    return float(life.temperature_c[:days].max())


def test_an_indoor_drum_of_50_litres_is_hot_by_day_three() -> None:
    # Cornell physics page, read: over 38 L, indoors; at least 40 °C by day 3, highest of the first 4 days 40-55.
    life = live_batch(Vessel(50, indoors=True), 21.0, {0: mix(13, "shavings", 2.2)}, 4, turn_every=None)
    assert peak(life, 3) >= 40
    assert 40 <= peak(life) <= 55


@pytest.fixture(scope="module")
def thai_bin() -> Life:
    # Karnchanawong & Suriyanon 2011 (abstract read): 200 L, 1.6 kg a day of scraps and leaves, 45 days, about 30 °C.
    day = mix(1.05, "leaves", 0.55, moisture=0.20)
    return live_batch(Vessel(200), 30.0, dict.fromkeys(range(45), day), 100)


def test_the_200_litre_bin_peaks_loses_and_ends_as_printed(thai_bin: Life) -> None:
    assert 52 <= peak(thai_bin) <= 62  # core peak 57 +- 5
    lost = 1 - float(thai_bin.wet_kg[90, 0, 0]) / (45 * 1.6)
    assert 0.54 <= lost <= 0.67  # wet loss 59-62 % +- 5
    moist = thai_bin.moisture[5:91]
    assert moist.min() >= 0.42
    assert moist.max() <= 0.68
    assert float(thai_bin.drained_kg[90, 0, 0]) / (45 * 1.6) < 0.15
    breath = thai_bin.respiration[:, 0, 0]
    stable = 45 + int((breath[45:] > DONE).sum())
    assert 56 <= stable <= 91
    print(f"peak {peak(thai_bin):.1f} °C, wet loss {100 * lost:.1f} %, at {DONE} mg on day {stable}, "
          f"at {LENIENT} on day {45 + int((breath[45:] > LENIENT).sum())}")  # fmt: skip


def test_the_known_miss_the_bins_ended_with_less_organic_matter(thai_bin: Life) -> None:
    # Karnchanawong & Sapudom 2011, read: wet loss 57.8-60.8 %, final volatile solids 64 %. A first trial of such a
    # model had 72-77 %, this one has 79: whoever narrows it may lower the ceiling.
    lost = 100 * (1 - float(thai_bin.wet_kg[90, 0, 0]) / (45 * 1.6))
    print(f"wet loss {lost:.0f} %, printed 57.8 to 60.8 %")
    assert 57.8 - 5 <= lost <= 60.8 + 5
    organic = 100 * float(thai_bin.organic_share[-1, 0, 0])
    print(f"organic matter at the end {organic:.0f} % of dry, printed 64 %")
    assert 64 < organic <= 80  # it misses


def test_bins_of_ten_litres_stay_lukewarm_and_still_lose_most_of_their_weight() -> None:
    # Rev. Ambient. Água 12(5) 2017, read: peak at most 46.2 °C, wet loss 58-69 %, dry loss 37-61 %.
    life = live_batch(Vessel(10), 25.0, {0: mix(2.8, "sawdust", 0.45, moisture=0.12)}, 100)
    wet, dry = 3.25, 2.8 * 0.2 + 0.45 * 0.88
    assert peak(life) <= 46.2
    assert 0.58 <= 1 - float(life.wet_kg[-1, 0, 0]) / wet <= 0.69
    assert 0.37 <= 1 - float(life.dry_kg[-1, 0, 0]) / dry <= 0.61


def test_the_same_mix_is_hotter_the_more_there_is_of_it() -> None:
    # D: one mix, one fill, one climate, 10 to 400 L.
    litres = (10, 20, 50, 100, 200, 400)
    vessels = tuple(Vessel(n) for n in litres)
    feeds = tuple({0: mix(0.24 * n, "shavings", 0.036 * n)} for n in litres)
    life = live_batches(vessels, 20.0, feeds, 20, turn_every=None)
    peaks = life.temperature_c.max(axis=0)[:, 0]
    print({n: round(float(p), 1) for n, p in zip(litres, peaks, strict=True)})
    assert (np.diff(peaks) > 0).all()


def test_a_tumbler_filled_in_spring_is_done_in_summer_about_two_months_after_closing() -> None:
    # Common practice: finished by autumn; in the warm season about two months after closing.
    def air(day: int) -> float:
        return usual_c(Climate(), date.fromordinal(date(2026, 4, 1).toordinal() + day), indoors=False)

    life = live_batch(Vessel(200), air, dict.fromkeys(range(61), mix(1.3, "shavings", 0.28)), 183)
    breath = life.respiration[61:, 0, 0]
    days_after_closing = int((breath > DONE).sum())
    print(f"{DONE} mg {days_after_closing} days after closing, {LENIENT} mg {int((breath > LENIENT).sum())}")
    assert 45 <= days_after_closing <= 75
    assert breath[-1] < DONE  # 1 October
