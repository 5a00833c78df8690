"""A harvest divided: garden first, the four rules, shares given up, and nothing lost."""

from dataclasses import replace
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from households.sharing.apportion import Owed, Tie, apportion
from households.sharing.claimant import Claimant
from households.sharing.filling_up import Stake, fill_up
from households.sharing.rule import Kind, SharingRule, entitlements
from households.sharing.split import Split, garden_reserve, split_harvest
from households.sharing.tub import MILLIONTHS

EQUAL = SharingRule()


def claimants(*weights: int) -> tuple[Claimant, ...]:
    return tuple(Claimant(UUID(int=i), weight=w) for i, w in enumerate(weights))


def tubs(split: Split) -> list[int]:
    return [share.tubs for share in split.shares]


def test_the_garden_takes_its_fifth_first_and_the_rest_is_equal() -> None:
    split = split_harvest(10 * MILLIONTHS, EQUAL, claimants(1, 1, 1))
    assert split.reserve_millionths == 2 * MILLIONTHS
    assert tubs(split) == [3, 3, 2]
    assert [share.credit_after_millionths for share in split.shares] == [-333_333, -333_333, 666_666]
    assert split.left_over_tubs == 0
    # all three are alike but for the millionth that doesn't divide: that is a tie, and said to be one
    assert split.tie == Tie(tied=tuple(UUID(int=i) for i in range(3)), served=(UUID(int=0), UUID(int=1)))


@pytest.mark.parametrize(
    ("harvested", "reserve"),
    [
        (0, 0),
        (1_000_000, 0),  # a fifth of a tub: nearest is none
        (2_000_000, 0),  # 0.4
        (2_500_000, 500_000),  # 0.5 due; the half tub is the garden's and pays it
        (2_499_999, 499_999),
        (3_000_000, 1_000_000),  # 0.6
        (7_000_000, 1_000_000),  # 1.4
        (8_000_000, 2_000_000),  # 1.6
        (12_500_000, 2_500_000),  # 2.5 due, half a tub in hand, two more
        (10_000_000, 2_000_000),
    ],
)
def test_the_reserve_is_whole_tubs_nearest_to_its_percent_and_the_part_tub(harvested: int, reserve: int) -> None:
    assert garden_reserve(harvested, 20) == reserve


def test_a_household_that_took_no_part_gets_nothing_unless_something_is_owed_to_it() -> None:
    absent = Claimant(UUID(int=9), weight=0)
    split = split_harvest(5 * MILLIONTHS, EQUAL, (*claimants(1, 1), absent))
    assert tubs(split) == [2, 2, 0]
    owed = replace(absent, credit_millionths=900_000)
    split = split_harvest(4 * MILLIONTHS, EQUAL, (*claimants(1, 1), owed))
    assert tubs(split) == [1, 1, 1]
    assert split.shares[2].credit_after_millionths == -100_000


def test_by_contribution_a_ceiling_holds_one_big_kitchen_to_twice_an_equal_share() -> None:
    # 8 tubs, equal share 2, ceiling 4; 90 of 100 kg would be 7.2
    rule = SharingRule(Kind.CONTRIBUTION)
    split = split_harvest(10 * MILLIONTHS, rule, claimants(90_000, 4_000, 3_000, 3_000))
    assert [s.entitlement_millionths for s in split.shares] == [4_000_000, 1_600_000, 1_200_000, 1_200_000]
    assert tubs(split) == [4, 2, 1, 1]
    open_end = split_harvest(
        10 * MILLIONTHS, replace(rule, ceiling_percent=None), claimants(90_000, 4_000, 3_000, 3_000)
    )
    assert tubs(open_end) == [7, 1, 0, 0]
    assert open_end.tie is None


def test_the_ceiling_is_of_a_share_among_those_who_took_part() -> None:
    rule = SharingRule(Kind.CONTRIBUTION, reserve_percent=0)
    due = entitlements(rule, claimants(90_000, 4_000, 3_000, 3_000, 0, 0, 0, 0), 8)
    assert due[UUID(int=0)] == 4 * MILLIONTHS


def test_a_ceiling_that_nobody_is_left_under_sends_the_rest_to_the_garden_in_whole_tubs() -> None:
    rule = SharingRule(Kind.CONTRIBUTION, reserve_percent=0, ceiling_percent=100)
    due = entitlements(rule, claimants(5, 5, 5), 10)
    assert sum(due.values()) == 9 * MILLIONTHS  # three limits of 3,333,333 make 9,999,999: nine tubs
    split = split_harvest(10 * MILLIONTHS, rule, claimants(5, 5, 5))
    assert (tubs(split), split.left_over_tubs) == ([3, 3, 3], 1)


def test_by_care_work_minutes_are_the_weights() -> None:
    rule = SharingRule(Kind.CARE, reserve_percent=0)
    assert tubs(split_harvest(6 * MILLIONTHS, rule, claimants(60, 40, 20, 0))) == [3, 2, 1, 0]


def test_on_request_nobody_gets_more_than_asked_whatever_is_owed() -> None:
    asking = (
        Claimant(UUID(int=0), request_tubs=1, credit_millionths=2_500_000),
        Claimant(UUID(int=1), request_tubs=9),
        Claimant(UUID(int=2), request_tubs=None),
    )
    split = split_harvest(6 * MILLIONTHS, SharingRule(Kind.REQUEST, reserve_percent=0), asking)
    assert tubs(split) == [1, 5, 0]
    split = split_harvest(20 * MILLIONTHS, SharingRule(Kind.REQUEST, reserve_percent=0), asking)
    assert (tubs(split), split.left_over_tubs) == ([1, 9, 0], 10)


def test_a_share_given_up_goes_to_the_garden_and_its_credit_stays() -> None:
    three = claimants(1, 1, 1)
    giving = replace(three[1], to_garden=True, credit_millionths=400_000)
    split = split_harvest(11 * MILLIONTHS, EQUAL, (three[0], giving, three[2]))
    # 9 to share, 3 each; the given-up 3 are left over
    assert (tubs(split), split.left_over_tubs, split.given_up_tubs) == ([3, 0, 3], 3, 3)
    assert split.shares[1].credit_after_millionths == 400_000


def test_a_harvest_nobody_took_part_in_is_all_the_gardens() -> None:
    for nobody in ((), claimants(0, 0), tuple(replace(c, to_garden=True) for c in claimants(1, 1))):
        split = split_harvest(10 * MILLIONTHS, EQUAL, nobody)
        assert (split.given_tubs, split.left_over_tubs) == (0, 8)


def test_a_share_given_to_the_neighbours_is_divided_among_them_by_the_rule() -> None:
    three = claimants(4, 2, 2)
    rule = SharingRule(Kind.CONTRIBUTION, reserve_percent=0, ceiling_percent=None)
    giving = replace(three[0], to_neighbours=True, credit_millionths=400_000)
    split = split_harvest(8 * MILLIONTHS, rule, (giving, *three[1:]))
    assert (tubs(split), split.left_over_tubs, split.given_up_tubs) == ([0, 4, 4], 0, 0)
    assert (split.shares[0].entitlement_millionths, split.shares[0].credit_after_millionths) == (0, 400_000)
    alone = split_harvest(8 * MILLIONTHS, rule, (giving,))
    assert (tubs(alone), alone.left_over_tubs) == ([0], 8)


@pytest.mark.parametrize(("least", "tubs_each"), [(0, [9, 1, 0]), (1, [8, 1, 1]), (3, [4, 3, 3]), (4, [4, 3, 3])])
def test_whoever_took_part_is_due_the_least_as_far_as_it_reaches(least: int, tubs_each: list[int]) -> None:
    rule = SharingRule(Kind.CONTRIBUTION, reserve_percent=0, ceiling_percent=None, least_tubs=least)
    split = split_harvest(10 * MILLIONTHS, rule, (*claimants(90, 6, 4), Claimant(UUID(int=9), weight=0)))
    assert tubs(split) == [*tubs_each, 0]


def test_nobody_is_handed_more_than_the_most_at_once_and_what_is_owed_beyond_it_is_carried() -> None:
    rule = SharingRule(reserve_percent=0, most_tubs=3)
    owed = replace(claimants(1)[0], credit_millionths=1_400_000)
    split = split_harvest(6 * MILLIONTHS, rule, (owed, *claimants(1, 1, 1)[1:]))
    # 2 are due each; 3.4 are owed to the first, who gets 3.
    assert (tubs(split), split.left_over_tubs) == ([3, 2, 1], 0)
    assert split.shares[0].credit_after_millionths == 400_000
    over = split_harvest(12 * MILLIONTHS, rule, claimants(1, 1, 1))
    assert (tubs(over), over.left_over_tubs) == ([3, 3, 3], 3)


def test_on_request_the_least_is_no_more_than_what_was_asked_for() -> None:
    rule = SharingRule(Kind.REQUEST, reserve_percent=0, least_tubs=2)
    who = tuple(Claimant(UUID(int=i), w, request_tubs=r) for i, (w, r) in enumerate([(90, 9), (5, 1), (5, 4)]))
    assert tubs(split_harvest(8 * MILLIONTHS, rule, who)) == [5, 1, 2]


CLAIMANTS = st.lists(
    st.tuples(
        st.integers(0, 100_000),
        st.integers(-3_000_000, 3_000_000),
        st.one_of(st.none(), st.integers(0, 12)),
        st.sampled_from(["keep", "keep", "garden", "neighbours"]),
    ),
    max_size=12,
)
RULES = st.builds(
    SharingRule,
    kind=st.sampled_from(list(Kind)),
    reserve_percent=st.integers(0, 100),
    ceiling_percent=st.one_of(st.none(), st.integers(100, 300)),
    least_tubs=st.integers(0, 3),
    most_tubs=st.one_of(st.none(), st.integers(3, 9)),
)


@given(st.integers(0, 60_000_000), RULES, CLAIMANTS)
def test_given_and_reserve_and_left_over_are_the_harvest_and_credit_balances(
    harvested: int, rule: SharingRule, rows: list[tuple[int, int, int | None, str]]
) -> None:
    who = tuple(
        Claimant(UUID(int=i), w, credit, request, wish == "garden", wish == "neighbours")
        for i, (w, credit, request, wish) in enumerate(rows)
    )
    split = split_harvest(harvested, rule, who)
    given_and_left = (split.given_tubs + split.left_over_tubs) * MILLIONTHS
    assert given_and_left + split.reserve_millionths == harvested
    assert 0 <= split.given_up_tubs <= split.left_over_tubs
    assert all(share.tubs >= 0 for share in split.shares)
    for share in split.shares:
        owed = share.entitlement_millionths + share.credit_before_millionths
        assert share.credit_after_millionths == owed - share.tubs * MILLIONTHS
    for one, share in zip(who, split.shares, strict=True):
        assert not (one.gives and share.tubs)
        assert rule.most_tubs is None or share.tubs <= rule.most_tubs
        if rule.kind is Kind.REQUEST:
            assert share.tubs <= (one.request_tubs or 0)
    if rule.kind is not Kind.REQUEST:
        # what falls due is handed out: credits only change hands
        assert sum(s.credit_after_millionths for s in split.shares) == sum(c.credit_millionths for c in who)
    assert split == split_harvest(harvested, rule, tuple(reversed(who)))


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="appears once"):
        split_harvest(1, EQUAL, (Claimant(UUID(int=1)), Claimant(UUID(int=1))))
    with pytest.raises(ValueError, match="0 or more"):
        split_harvest(-1, EQUAL, ())
    with pytest.raises(ValueError, match="percent"):
        SharingRule(reserve_percent=101)
    with pytest.raises(ValueError, match="ceiling"):
        SharingRule(ceiling_percent=99)
    with pytest.raises(ValueError, match="0 or more"):
        Claimant(UUID(int=1), weight=-1)
    with pytest.raises(ValueError, match="to the beds or"):
        Claimant(UUID(int=1), to_garden=True, to_neighbours=True)
    for least, most in ((-1, None), (0, 0), (3, 2)):
        with pytest.raises(ValueError, match="the least"):
            SharingRule(least_tubs=least, most_tubs=most)
    with pytest.raises(ValueError, match="no more than the most"):
        fill_up((Stake(UUID(int=1), 1, most=1, least=2),), 5)
    with pytest.raises(ValueError, match="somebody"):
        apportion((), 1)
    with pytest.raises(ValueError, match="0 or more"):
        Owed(UUID(int=1), -1)
