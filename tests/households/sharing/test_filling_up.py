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
