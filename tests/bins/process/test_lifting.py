"""What the pages say about lifting and about the floor, against the equations that they come from."""

from pathlib import Path

import pytest

from bins.founding.permitting import FRAME_KG, KG_PER_LITRE

HOUSE = Path(__file__).resolve().parents[3]
COMPOST_KG_PER_LITRE = 0.8  # Cornell, finished compost: 800 kg/m3
STANDARD_GRAVITY = 9.80665  # m/s2


def weight_limit_kg(h_cm: float, v_cm: float, d_cm: float, a_degrees: float, frequency: float, grip: float) -> float:
    """The NIOSH lifting equation (Waters and others 1993, as CCOHS prints it): what most people may lift."""
    far, high = 25 / h_cm, 1 - 0.003 * abs(v_cm - 75)
    carried, turned = 0.82 + 4.5 / d_cm, 1 - 0.0032 * a_degrees
    return 23 * far * high * carried * turned * frequency * grip


def test_the_equation_gives_the_printed_example() -> None:
    # CCOHS, NIOSH lifting equation, read: H 25, V 55, D 95, A 0, FM 0.88, CM 0.95
    assert weight_limit_kg(25, 55, 95, 0, 0.88, 0.95) == pytest.approx(15.68, abs=0.005)


def test_a_tub_filled_to_its_mark_is_below_what_may_be_lifted_from_under_a_drum() -> None:
    limit = weight_limit_kg(40, 30, 70, 30, 1, 0.90)  # half under a drum, turned aside: worked out, not printed
    assert limit == pytest.approx(8.95, abs=0.005)
    assert limit > 10 * COMPOST_KG_PER_LITRE
    said = (HOUSE / "coordinator/templates/pages/parts/emptying.html").read_text()
    assert f"about {limit:.0f} kg is enough to lift" in said
    assert f"about {limit / 0.45359237:.0f} pounds is enough to lift" in said


def test_a_full_drum_weighs_on_its_floor_what_the_question_to_the_engineer_says() -> None:
    # worked out: 400 L at 0.6 kg/L and a frame of 30 kg on 0.96 m2
    load = (400 * KG_PER_LITRE + FRAME_KG) * STANDARD_GRAVITY / 0.96 / 1000
    assert load == pytest.approx(2.76, abs=0.005)
