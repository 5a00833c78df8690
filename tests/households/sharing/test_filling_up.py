"""Water-filling in exact integers."""

from itertools import product
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from households.sharing.filling_up import Stake, fill_up

STAKES = st.lists(st.tuples(st.integers(0, 50), st.one_of(st.none(), st.integers(0, 3000))), min_size=1, max_size=8)


def stakes(rows: list[tuple[int, int | None]]) -> tuple[Stake, ...]:
    return tuple(Stake(UUID(int=i), weight, most) for i, (weight, most) in enumerate(rows))


@given(STAKES, st.integers(0, 10_000))
def test_it_gives_all_there_is_or_all_that_may_be_taken(rows: list[tuple[int, int | None]], amount: int) -> None:
    given_ = fill_up(stakes(rows), amount)
    limits = [most for weight, most in rows if weight > 0]
    most = sum(m for m in limits if m is not None)
    expected = amount if None in limits else min(amount, most)
    assert sum(given_.values()) == expected
    for i, (weight, limit) in enumerate(rows):
        got = given_[UUID(int=i)]
        assert got >= 0
        assert weight > 0 or got == 0
        assert limit is None or got <= limit


@given(STAKES, st.integers(0, 10_000))
def test_nobody_below_the_limit_gets_less_for_the_weight_than_another(
    rows: list[tuple[int, int | None]], amount: int
) -> None:
    given_ = list(fill_up(stakes(rows), amount).values())
    for (i, (w_i, most_i)), (j, (w_j, _)) in product(enumerate(rows), repeat=2):
        if w_i > 0 and w_j > 0 and (most_i is None or given_[i] < most_i):
            # up to the one indivisible unit that each may have won or lost
            assert given_[j] * w_i <= given_[i] * w_j + w_i + w_j


def test_limits_that_cannot_be_filled_leave_some_and_a_uid_twice_is_refused() -> None:
    assert list(fill_up(stakes([(1, 2), (1, 3), (0, None)]), 10).values()) == [2, 3, 0]
    assert fill_up((), 10) == {}
    with pytest.raises(ValueError, match="once"):
        fill_up((Stake(UUID(int=1), 1), Stake(UUID(int=1), 1)), 1)
    with pytest.raises(ValueError, match="0 or more"):
        Stake(UUID(int=1), -1)


def test_the_least_pulls_up_the_small_ones_and_the_rest_is_divided_again() -> None:
    # weights 6, 3, 1, at least 2 each, 10 to divide: the last is pulled up to 2, the other 8 go 6 to 3.
    stakes = tuple(Stake(UUID(int=i), weight, least=2_000_000) for i, weight in enumerate((6, 3, 1)))
    assert list(fill_up(stakes, 10_000_000).values()) == [5_333_333, 2_666_667, 2_000_000]


def test_too_little_for_the_least_of_all_is_divided_alike() -> None:
    stakes = tuple(Stake(UUID(int=i), weight, least=2_000_000) for i, weight in enumerate((60, 30, 10, 0)))
    assert list(fill_up(stakes, 3_000_000).values()) == [1_000_000, 1_000_000, 1_000_000, 0]


def test_least_and_most_at_once_move_others_both_ways() -> None:
    # weights 90, 5, 5, at least 2 and at most 5 of 10: 9, .5, .5 are 5, 2, 2 at first, and one is left for the small.
    stakes = tuple(Stake(UUID(int=i), weight, 5_000_000, 2_000_000) for i, weight in enumerate((90, 5, 5)))
    assert list(fill_up(stakes, 10_000_000).values()) == [5_000_000, 2_500_000, 2_500_000]


LIMITED = st.lists(
    st.tuples(st.integers(0, 50), st.integers(0, 40), st.one_of(st.none(), st.integers(0, 60))), min_size=1, max_size=9
)


@given(LIMITED, st.integers(0, 300))
def test_whoever_is_inside_its_limits_gets_by_one_and_the_same_measure(
    rows: list[tuple[int, int, int | None]], amount: int
) -> None:
    """What defines the division: one measure for all, cut off at each one's limits; and all of it goes out."""
    unit = 1_000_000
    stakes = tuple(
        Stake(UUID(int=i), weight, None if over is None else (least + over) * unit, least * unit)
        for i, (weight, least, over) in enumerate(rows)
    )
    got = fill_up(stakes, amount * unit)
    part = [s for s in stakes if s.weight]
    top = sum(amount * unit if s.most is None else s.most for s in part)
    assert sum(got.values()) == min(amount * unit, top) if part else not any(got.values())
    if sum(s.least for s in part) > amount * unit:
        return
    assert all(s.least <= got[s.uid] <= (got[s.uid] if s.most is None else s.most) for s in part)
    for one in part:
        for other in part:
            if got[one.uid] > one.least + 1 and (other.most is None or got[other.uid] < other.most - 1):
                # one could give to the other: then it has no more of the measure, to within the last unit
                assert (got[one.uid] - 1) * other.weight <= (got[other.uid] + 1) * one.weight
