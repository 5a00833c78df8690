"""Numbers on a page are rounded, never cut off; what the books hold is shown whole."""

import pytest
from django.utils import translation

from bins.models.harvest import TUB
from coordinator.pages.amounts import amount, rounded, volume, weight
from coordinator.pages.tubs import tubs_said
from households.models import Building

METRIC = Building(units=Building.Units.METRIC)
US = Building(units=Building.Units.US)


@pytest.mark.parametrize(
    ("number", "places", "said"),
    [(66.9, 0, "67"), (66.4, 0, "66"), (100 * 0.58, 0, "58"), (41.28, 1, "41.3"), (0.04, 1, "0.0")],
)
def test_a_number_is_rounded_to_the_nearest(number: float, places: int, said: str) -> None:
    assert rounded(number, places) == said


@pytest.mark.parametrize(
    ("grams", "said"), [(41_280, "41.3 kg"), (99_960, "100.0 kg"), (100_000, "100 kg"), (261_700, "262 kg")]
)
def test_a_weight_in_a_sentence_has_no_more_figures_than_it_can_bear(grams: int, said: str) -> None:
    assert weight(grams, METRIC) == said


def test_the_same_in_pounds_and_gallons() -> None:
    assert (weight(453_592, US), volume(3_700, US), volume(95_600, METRIC)) == ("1000 lb", "1 gal", "96 L")


def test_amounts_of_the_books_add_up_to_the_millilitre() -> None:
    # Ten cups of 355 mL: cut to two decimals, the rows would make 3.50 L and the sum would read 3.55.
    assert tuple(amount(ml, "ml", METRIC) for ml in (355, 3_550, 2_000)) == ("0.355 L", "3.55 L", "2 L")
    with translation.override("fr"):
        assert amount(355, "ml", METRIC) == "0,355 L"


@pytest.mark.parametrize(
    ("tubs", "said"),
    [(0, "0 tubs"), (0.5, "0.5 tubs"), (1, "1 tub"), (1.001, "1 tub"), (1.5, "1.5 tubs"), (2, "2 tubs"), (4, "4 tubs")],
)
def test_tubs_are_said_with_the_form_of_their_number(tubs: float, said: str) -> None:
    assert tubs_said(round(tubs * TUB)) == said
