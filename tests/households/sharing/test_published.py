"""Published splits, S1-S4 and S6-S9, each with its source and status beside it."""

from fractions import Fraction
from itertools import pairwise
from uuid import UUID

import pytest
from apportionment import methods as apportionment
from hypothesis import assume, given
from hypothesis import strategies as st

from households.sharing.apportion import Apportioned, Owed, Tie, apportion
from households.sharing.claimant import Claimant
from households.sharing.filling_up import Stake, fill_up
from households.sharing.rule import Kind, SharingRule
from households.sharing.split import split_harvest
from households.sharing.tub import MILLIONTHS


def by_votes(votes: list[int], tubs: int) -> Apportioned:
    """Entitlements in proportion to votes, no credit."""
    due = fill_up(tuple(Stake(UUID(int=i), v) for i, v in enumerate(votes)), tubs * MILLIONTHS)
    return apportion(tuple(Owed(uid, amount) for uid, amount in due.items()), tubs)


def tubs_of(result: Apportioned) -> list[int]:
    return [result.tubs[uid] for uid in sorted(result.tubs)]


@pytest.mark.parametrize(
    ("votes", "tubs", "printed"),
    [
        # S1, C: largest remainder method, encyclopaedia example
        ([1500, 1500, 900, 500, 500, 200], 25, [7, 7, 4, 3, 3, 1]),
        ([1500, 1500, 900, 500, 500, 200], 26, [8, 8, 5, 2, 2, 1]),
        # S2, C: Alabama paradox, "How Math Explains the World", p. 230
        ([5670, 3850, 420, 60], 323, [183, 124, 14, 2]),
        ([5670, 3850, 420, 60], 324, [184, 125, 13, 2]),
        # S3, C: staatsrecht example
        ([6100, 5000, 900], 10, [5, 4, 1]),
    ],
)
def test_s1_to_s3_the_largest_remainder(votes: list[int], tubs: int, printed: list[int]) -> None:
    assert tubs_of(by_votes(votes, tubs)) == printed


def test_s4_a_tie_at_the_last_tub_is_decided_by_the_stated_rule_and_reported() -> None:
    # S4, C: 1982 posting. Quotas 1.5, 3.5, 45: the larger entitlement gets the last tub
    result = by_votes([3, 7, 90], 50)
    assert tubs_of(result) == [1, 4, 45]
    assert result.tie == Tie(tied=(UUID(int=0), UUID(int=1)), served=(UUID(int=1),))


def test_s4_equal_entitlements_tie_by_uid() -> None:
    result = by_votes([1, 1, 1], 4)
    assert tubs_of(result) == [2, 1, 1]
    assert result.tie == Tie(tied=tuple(UUID(int=i) for i in range(3)), served=(UUID(int=0),))
    assert by_votes([1, 1, 1], 3).tie is None


def awards(requests: list[str], amount: str, weights: list[int] | None = None) -> list[Fraction]:
    stakes = tuple(
        Stake(UUID(int=i), weights[i] if weights else 1, int(Fraction(r) * MILLIONTHS)) for i, r in enumerate(requests)
    )
    given = fill_up(stakes, int(Fraction(amount) * MILLIONTHS))
    return [Fraction(given[UUID(int=i)], MILLIONTHS) for i in range(len(requests))]


def test_s6_constrained_equal_awards() -> None:
    # S6: constrained equal awards rule, claims 4 and 8, estate 6
    assert awards(["4", "8"], "6") == [3, 3]


def test_s7_max_min_fairness() -> None:
    # S7, C: Keshav 1997
    assert awards(["2", "2.6", "4", "5"], "10") == [2, Fraction("2.6"), Fraction("2.7"), Fraction("2.7")]


def test_s8_weighted_requests_that_are_all_served_leave_the_rest_to_the_garden() -> None:
    # S8, D: weights 120, 90, 60, 30; requests 10, 5, 8, 2; 40 tubs
    claimants = tuple(
        Claimant(UUID(int=i), weight=w, request_tubs=r)
        for i, (w, r) in enumerate(zip([120, 90, 60, 30], [10, 5, 8, 2], strict=True))
    )
    split = split_harvest(40 * MILLIONTHS, SharingRule(Kind.REQUEST, reserve_percent=0), claimants)
    assert [share.tubs for share in split.shares] == [10, 5, 8, 2]
    assert split.left_over_tubs == 15


def test_s9_with_carried_credit_small_households_catch_up() -> None:
    # S9, D: shares 46, 25, 15, 14 %; 7 scoops, ten times
    uids = [UUID(int=i) for i in range(4)]
    due = dict(zip(uids, [3_220_000, 1_750_000, 1_050_000, 980_000], strict=True))
    credits = dict.fromkeys(uids, 0)
    carried, forgotten = dict.fromkeys(uids, 0), dict.fromkeys(uids, 0)
    for _ in range(10):
        memory = apportion(tuple(Owed(uid, due[uid], credits[uid]) for uid in uids), 7)
        credits = memory.credits
        assert max(abs(credit) for credit in credits.values()) <= MILLIONTHS // 2
        plain = apportion(tuple(Owed(uid, due[uid]) for uid in uids), 7)
        for uid in uids:
            carried[uid] += memory.tubs[uid]
            forgotten[uid] += plain.tubs[uid]
    assert list(forgotten.values()) == [30, 20, 10, 10]
    assert list(carried.values()) == [32, 18, 10, 10]


def test_s9_an_entitlement_below_nothing_counts_as_nothing_and_the_rest_stays_as_credit() -> None:
    ahead, other = Owed(UUID(int=0), 500_000, -1_800_000), Owed(UUID(int=1), 1_500_000, 1_800_000)
    result = apportion((ahead, other), 2)
    assert tubs_of(result) == [0, 2]
    assert list(result.credits.values()) == [-1_300_000, 1_300_000]


@given(st.lists(st.integers(1, 2000), min_size=1, max_size=12), st.integers(1, 60))
def test_s10_our_largest_remainder_equals_an_independent_library_ties_aside(weights: list[int], tubs: int) -> None:
    # PyPI `apportionment` 1.0, in exact fractions.
    total = sum(weights)
    # remainders closer than a millionth look like ties to integer millionths
    fractions = sorted(Fraction(w * tubs % total, total) for w in weights)
    assume(all(b - a > Fraction(2, MILLIONTHS) for a, b in pairwise(fractions)))
    expected = apportionment.compute("hamilton", weights, tubs, fractions=True, verbose=False)
    assert tubs_of(by_votes(weights, tubs)) == list(expected)
