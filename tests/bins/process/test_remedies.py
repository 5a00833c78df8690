"""Amounts of the remedies, and which steps they leave."""

from dataclasses import replace

import pytest

from bins.process.causes import Cause
from bins.process.material import Material
from bins.process.materials import CARDBOARD, KITCHEN_SCRAPS, LEAVES, PELLETS, SAWDUST, SHAVINGS, STRAW
from bins.process.mix import Portion, available_c_to_n, c_to_n, moisture
from bins.process.reading import Squeeze
from bins.process.remedies import ACTS, FIGURE_OF, MOISTURE_FELT, TURNS, Act, Heap, figures_of, steps

OPEN = Heap(place_litres=100, level_percent=60, browns=PELLETS, is_filling=True)
CLOSED = replace(OPEN, is_filling=False)


def test_a_squeeze_stands_for_the_moisture_in_print() -> None:
    # G6, LSU AgCenter (read, and in copies): dusty under 44 %, one or two drops 50-60 %, a stream is too wet
    assert MOISTURE_FELT[Squeeze.DRY].high == 0.44
    assert (MOISTURE_FELT[Squeeze.RIGHT].low, MOISTURE_FELT[Squeeze.RIGHT].high) == (0.50, 0.60)
    assert MOISTURE_FELT[Squeeze.WET].low > 0.60


def test_a_wet_heap_gets_the_litres_that_bring_it_to_60_percent() -> None:
    figures = figures_of(Cause.TOO_WET, OPEN)
    assert figures == {"browns_litres": 11, "turns": 5, "every_days": 2}
    heap = OPEN.portion(0.70)
    assert heap.wet_kg == pytest.approx(36)
    assert moisture((heap, Portion.of_litres(PELLETS, 11))) <= 0.60 < moisture((heap, Portion.of_litres(PELLETS, 10)))


def test_an_open_hatch_without_browns_is_as_wet_as_its_scraps() -> None:
    scraps = (Portion(KITCHEN_SCRAPS, 40),)  # 80 %
    assert figures_of(Cause.TOO_WET, replace(OPEN, went_in=scraps))["browns_litres"] == 22
    assert figures_of(Cause.TOO_WET, replace(CLOSED, went_in=scraps))["browns_litres"] == 11, "who knows what is left"


def test_what_does_not_fit_is_said() -> None:
    assert figures_of(Cause.TOO_WET, replace(OPEN, browns=LEAVES)) == {
        "browns_litres": 30, "lacking_litres": 204, "turns": 5, "every_days": 2,
    }  # fmt: skip
    full = figures_of(Cause.TOO_WET, replace(OPEN, level_percent=95))
    assert "browns_litres" not in full
    assert full["lacking_litres"] == 17


def test_a_dry_heap_gets_the_water_that_brings_it_to_55_percent() -> None:
    assert figures_of(Cause.TOO_DRY, OPEN) == {"water_litres": 12, "turns": 5}
    assert moisture((OPEN.portion(0.40),), 12) == pytest.approx(0.55)


def test_without_a_level_there_are_no_litres_but_still_a_remedy() -> None:
    unseen = replace(OPEN, level_percent=None)
    assert figures_of(Cause.TOO_WET, unseen) == {"turns": 5, "every_days": 2}
    assert steps(Cause.TOO_WET, figures_of(Cause.TOO_WET, unseen), is_filling=True) == (
        Act.ADD_BROWNS, Act.TURN, Act.TURN_AGAIN,
    )  # fmt: skip
    assert figures_of(Cause.TOO_DRY, unseen) == {"turns": 5}


def test_browns_for_nitrogen_go_by_what_went_in_while_it_fills_and_by_eye_after() -> None:
    scraps = (Portion(KITCHEN_SCRAPS, 20),)
    heap = replace(OPEN, browns=SHAVINGS, went_in=scraps)
    litres = figures_of(Cause.TOO_FEW_BROWNS, heap)["browns_litres"]
    assert c_to_n((*scraps, Portion.of_litres(SHAVINGS, litres))) >= 25
    assert c_to_n((*scraps, Portion.of_litres(SHAVINGS, litres - 1))) < 25
    assert figures_of(Cause.TOO_FEW_BROWNS, replace(heap, is_filling=False))["browns_litres"] == 6
    assert figures_of(Cause.TOO_FEW_BROWNS, OPEN)["browns_litres"] == 6, "nobody knows what went in"


def test_a_starving_batch_gets_scraps_while_it_fills_and_none_after() -> None:
    starving = (Portion(KITCHEN_SCRAPS, 10), Portion.of_litres(CARDBOARD, 60))
    heap = replace(OPEN, place_litres=400, level_percent=30, went_in=starving)
    litres = figures_of(Cause.TOO_MANY_BROWNS, heap)["scraps_litres"]
    assert available_c_to_n(starving) > 40
    assert available_c_to_n((*starving, Portion.of_litres(KITCHEN_SCRAPS, litres))) <= 30
    assert available_c_to_n((*starving, Portion.of_litres(KITCHEN_SCRAPS, litres - 1))) > 30
    assert figures_of(Cause.TOO_MANY_BROWNS, replace(OPEN, level_percent=60))["scraps_litres"] == 12, "by eye"
    assert "scraps_litres" not in figures_of(Cause.TOO_MANY_BROWNS, CLOSED)
    assert Act.JOIN_OPEN in steps(Cause.TOO_MANY_BROWNS, {}, is_filling=False)
    assert Act.ADD_SCRAPS not in steps(Cause.TOO_MANY_BROWNS, {}, is_filling=False)


@pytest.mark.parametrize(
    ("cause", "heap", "figures"),
    [
        (Cause.TOO_LITTLE, replace(OPEN, level_percent=15), {"fill_litres": 35}),
        (Cause.TOO_LITTLE, replace(CLOSED, level_percent=15), {}),
        (Cause.TOO_FULL, replace(OPEN, level_percent=92), {"out_litres": 17}),
        (Cause.TOO_FULL, replace(OPEN, level_percent=75), {}),
        (Cause.BARE_SCRAPS, OPEN, {"cover_litres": 5, "every_days": 2}),
        (Cause.TOO_HOT, OPEN, {"turns": 5, "every_days": 1}),
        (Cause.TOO_HOT, replace(OPEN, squeeze=Squeeze.DRY), {"water_litres": 12, "turns": 5, "every_days": 1}),
        (Cause.TOO_EARLY, replace(CLOSED, wait_days=20), {"wait_days": 20}),
        (Cause.TOO_EARLY, replace(CLOSED, wait_days=-3), {}),
        (Cause.SOLDIER_FLIES, OPEN, {}),
        (Cause.WAY_IN, OPEN, {}),
    ],
)
def test_amounts_of_the_others(cause: Cause, heap: Heap, figures: dict[str, int]) -> None:
    assert figures_of(cause, heap) == figures


def test_soldier_flies_are_left_alone_and_rats_shut_the_drum() -> None:
    assert ACTS[Cause.SOLDIER_FLIES] == (Act.LEAVE_LARVAE,)
    assert ACTS[Cause.WAY_IN] == (Act.SHUT, Act.CLOSE_GAPS, Act.PEST_CONTROL)


def test_every_cause_leaves_at_least_one_step_in_either_stage() -> None:
    for cause in Cause:
        for is_filling in (True, False):
            if (cause, is_filling) != (Cause.TOO_EARLY, True):  # what fills isn't too early: it has no days to wait
                figures = figures_of(cause, replace(OPEN, is_filling=is_filling, wait_days=None if is_filling else 9))
                assert steps(cause, figures, is_filling=is_filling)
    assert {act for acts in ACTS.values() for act in acts} == set(Act)
    assert set(FIGURE_OF) <= set(Act)


def test_an_impossible_heap_is_refused() -> None:
    with pytest.raises(ValueError, match="litres"):
        replace(OPEN, place_litres=0)
    with pytest.raises(ValueError, match="level"):
        replace(OPEN, level_percent=101)


def test_a_remedy_turns_five_or_six_times() -> None:
    # Common practice of tumbling, no source: five or six turns.
    assert TURNS in (5, 6)


@pytest.mark.parametrize(
    # Worked by hand: 0.6 kg/L; 70 to 60 % is 0.10 / (0.60 - m) of the heap's kilos, over the browns' kilos a litre.
    ("place", "level", "browns", "litres"),
    [
        (200, 60, SHAVINGS, 160),  # 72 kg: 7.2 / 0.45 = 16 kg at 0.10
        (200, 60, PELLETS, 22),  # 7.2 / 0.52 = 13.8 kg at 0.65
        (200, 40, CARDBOARD, 60),  # 48 kg: 4.8 / 0.52 = 9.2 kg at 0.154
        (200, 40, SAWDUST, 97),  # 4.8 / 0.21 = 22.9 kg at 0.237
        (200, 40, STRAW, 167),  # 4.8 / 0.48 = 10 kg at 0.06
    ],
)
def test_litres_of_browns_for_a_wet_heap_worked_by_hand(place: int, level: int, browns: Material, litres: int) -> None:
    found = figures_of(Cause.TOO_WET, replace(CLOSED, place_litres=place, level_percent=level, browns=browns))
    assert found["browns_litres"] + found.get("lacking_litres", 0) == litres


@pytest.mark.parametrize(("place", "level", "litres"), [(200, 60, 24), (100, 80, 16), (500, 30, 30)])
def test_litres_of_water_for_a_dry_heap_worked_by_hand(place: int, level: int, litres: int) -> None:
    # 40 to 55 % is 0.15 / 0.45, a third, of the heap's kilos
    assert figures_of(Cause.TOO_DRY, replace(CLOSED, place_litres=place, level_percent=level)) == {
        "water_litres": litres,
        "turns": 5,
    }
