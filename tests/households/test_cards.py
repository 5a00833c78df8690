"""Cards: random to look at, never used twice, and one wrong digit names nobody."""

import datetime as dt
from itertools import islice, product

import pytest

from households.cards import (
    DIGITS,
    LENGTH,
    MORE_SIGNS,
    _numbers,
    cancelled_cards,
    give_card,
    household_of_card,
    renew_card,
)
from households.models import Card, Household
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded
TODAY = dt.date(2026, 5, 4)


def test_a_household_has_a_card_from_the_day_it_joins(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        cards = Card.objects.within(here).order_by("pk")
        assert [card.household.label for card in cards] == ["Flat 3", "Flat 5"]
        assert all(len(card.number) == LENGTH and set(card.number) <= set(DIGITS) for card in cards)
        assert cards[0].given_on == TODAY


def test_a_number_names_its_household_however_it_is_spaced_and_in_its_building_alone(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        number = Card.objects.within(here).get(household=cast.resident.household).number
        assert household_of_card(here, f" {number[:2]} {number[2:]} ") == cast.resident.household
        assert household_of_card(here, "") is None
    with inside(cast.elsewhere.uid) as there:
        assert household_of_card(there, number) is None


def test_a_renewed_card_counts_no_longer_and_its_number_is_never_given_again(cast: Cast) -> None:
    household = cast.resident.household
    assert household is not None
    with inside(cast.building.uid) as here:
        old = Card.objects.within(here).get(household=household).number
        new = renew_card(building=here, household=household, by=cast.caretaker, now=NOW)
        assert new.number != old
        assert household_of_card(here, old) is None
        assert household_of_card(here, new.number) == household
        assert [card.number for card in cancelled_cards(here, TODAY)] == [old]
        assert cancelled_cards(here, TODAY + dt.timedelta(days=1)) == []


def test_a_household_that_left_has_no_card_that_counts(cast: Cast) -> None:
    household = cast.resident.household
    assert household is not None
    with inside(cast.building.uid) as here:
        number = Card.objects.within(here).get(household=household).number
        household.left_on = TODAY
        household.save()
        assert household_of_card(here, number) is None


def test_no_two_of_eighty_households_are_one_wrong_digit_apart(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for flat in range(78):
            give_card(here, Household.objects.create(building=here, label=f"Home {flat}", joined_on=TODAY), TODAY)
        numbers = list(Card.objects.within(here).values_list("number", flat=True))
    assert len(numbers) == 80
    near = [(a, b) for a in numbers for b in numbers if a < b and sum(x != y for x, y in zip(a, b, strict=True)) < 2]
    assert near == []


def test_a_big_block_goes_on_with_any_unused_number(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("households.cards.TRIES", 3)
    monkeypatch.setattr("households.cards.DIGITS", "23")
    with inside(cast.building.uid) as here:
        for flat in range(20):  # sixteen numbers of four places with two digits, then five places
            give_card(here, Household.objects.create(building=here, label=f"Home {flat}", joined_on=TODAY), TODAY)
        numbers = list(Card.objects.within(here).values_list("number", flat=True))
    assert len(set(numbers)) == 22
    assert max(len(number) for number in numbers) == LENGTH + 1


def test_the_search_for_a_number_ends_when_all_numbers_of_digits_are_used() -> None:
    used = {"".join(signs) for length in (LENGTH, LENGTH + 1) for signs in product(DIGITS, repeat=length)}
    found = next(number for number in islice(_numbers("a household"), 30_000) if number not in used)
    assert len(found) == LENGTH + 1
    assert set(found) <= set(MORE_SIGNS)
