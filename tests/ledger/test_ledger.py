"""Forty runs of thirty things that people do, in any order: the books say what a tally by hand says.

The long counts, and the hunt for twenty faults put in by hand, are the proof `ledger`.
"""

import pytest

from .faults import FAULTS, QUICK, put_in
from .house import House, found_house
from .hunt import caught, play

pytestmark = pytest.mark.embedded
RUNS, STEPS = 40, 30


@pytest.fixture
def house(db: None) -> House:
    return found_house()


@pytest.mark.long
def test_the_books_say_what_a_tally_by_hand_says(house: House) -> None:
    play(house, RUNS, STEPS)


@pytest.mark.long
def test_six_faults_that_show_soon_are_caught(house: House) -> None:
    found = caught(house, [fault for fault in FAULTS if fault.name in QUICK], RUNS, STEPS)
    print(f"caught {sum(found.values())} of {len(found)}")
    assert found == dict.fromkeys(QUICK, True)


def test_each_of_the_twenty_faults_can_be_put_in_and_taken_out() -> None:
    assert len({fault.name for fault in FAULTS}) == 20
    assert set(QUICK) <= {fault.name for fault in FAULTS}
    for _ in range(2):  # the line stands there again afterwards
        for fault in FAULTS:
            with put_in(fault):
                pass
