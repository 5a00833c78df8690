"""A share in a sentence that adds up, and counts that name nobody."""

import pytest

from bins.harvests.breakdown import Group, breakdown
from bins.harvests.share_words import sentence
from bins.models import Share
from tests.bins.harvests.harvested import TUB


@pytest.mark.parametrize(
    ("due", "before", "tubs", "says"),
    [
        (4_400_000, 0, 4, "You were due 4.4 tubs, get 4, 0.4 is carried."),
        (4_150_000, 250_000, 4, "You were due 4.4 tubs, get 4, 0.4 is carried."),
        (4_000_000, 0, 4, "You were due 4 tubs and get them."),
        (1_000_000, 0, 1, "You were due 1 tub and get it."),
        (3_600_000, 0, 4, "You were due 3.6 tubs and get 4. The 0.4 more comes off next time."),
        (3_650_000, 0, 4, "You were due 3.7 tubs and get 4. The 0.3 more comes off next time."),
        (400_000, 0, 0, "You were due 0.4 tubs. That is less than you can fetch, so it is carried to the next time."),
        (0, -300_000, 0, "Nothing falls to you this time: you are 0.3 tubs ahead from before."),
    ],
)
def test_a_share_in_one_sentence(due: int, before: int, tubs: int, says: str) -> None:
    share = Share(
        due_millionths=due, credit_before_millionths=before, tubs=tubs,
        credit_after_millionths=due + before - tubs * TUB,
    )  # fmt: skip
    assert sentence(share) == says


def test_counts_are_told_without_names_and_under_five_households_not_at_all() -> None:
    nine_and_three = breakdown([4] * 9 + [3] * 3, "equal")
    assert (nine_and_three.groups, nine_and_three.is_whole) == ((Group(9, 4), Group(3, 3)), True)
    four = breakdown([3, 3, 2, 2], "equal")
    assert (four.households, four.groups, four.withheld) == (4, (), 2)
    assert breakdown([2] * 5, "equal").groups == (Group(5, 2),)


def test_by_weight_a_small_group_is_withheld_with_one_more_so_that_subtraction_fails() -> None:
    found = breakdown([8] + [3] * 5 + [2] * 6, "contribution")
    assert (found.groups, found.withheld) == ((Group(6, 2),), 2)
    assert breakdown([8, 8, 7] + [2] * 6, "contribution").groups == (Group(6, 2),)
    assert breakdown([3] * 5 + [2] * 6, "contribution").is_whole
