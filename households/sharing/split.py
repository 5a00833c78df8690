"""A harvest divided: the garden first, then the households by the batch's rule, in whole tubs.

Always: given + reserve + left over = harvested, in whole millionths of a tub.

    10 tubs, 20 % reserve, 3 households, equal:  2 to the garden; 2.67 each -> 3, 3, 2; credits -0.33 -0.33 +0.67
    a part tub:                                  belongs to the garden and counts towards its reserve
"""

from dataclasses import dataclass
from uuid import UUID

from households.sharing.apportion import Owed, Tie, apportion
from households.sharing.claimant import Claimant
from households.sharing.rule import SharingRule, entitlements, most_at_once
from households.sharing.tub import MILLIONTHS, whole_tubs


@dataclass(frozen=True, slots=True)
class Share:
    """One household's part: what it was due, owed before, gets, and is owed after (millionths; whole tubs)."""

    uid: UUID
    entitlement_millionths: int
    credit_before_millionths: int
    tubs: int
    credit_after_millionths: int


@dataclass(frozen=True, slots=True)
class Split:
    """The division of one harvest. `left_over_tubs` also go to the beds: shares given up (`given_up_tubs` of
    them), ceilings, requests smaller than the harvest, or nobody who took part."""

    harvested_millionths: int
    reserve_millionths: int
    shares: tuple[Share, ...]
    left_over_tubs: int
    given_up_tubs: int
    tie: Tie | None

    @property
    def given_tubs(self) -> int:
        """All tubs that go to households."""
        return sum(share.tubs for share in self.shares)


def split_harvest(harvested_millionths: int, rule: SharingRule, claimants: tuple[Claimant, ...]) -> Split:
    """Divide a measured harvest (millionths of a tub, 0 or more). Shares come by uid, one per claimant.

    A household that gives its share away gets nothing, and its credit stays as it was: for the garden its part is
    left over, for the neighbours the rule divides it among them, as if it had taken no part. Under REQUEST nobody
    gets more than asked for, credit or not, and under no rule more than its most at once. ValueError on a negative
    harvest or a uid given twice.
    """
    if harvested_millionths < 0 or len({c.uid for c in claimants}) != len(claimants):
        raise ValueError("a harvest is 0 or more, and each household appears once")
    reserve_millionths = garden_reserve(harvested_millionths, rule.reserve_percent)
    shareable = whole_tubs(harvested_millionths - reserve_millionths)
    due = entitlements(rule, tuple(c for c in claimants if not c.to_neighbours), shareable)
    takers = tuple(sorted((c for c in claimants if not c.gives), key=lambda c: c.uid))
    due_in_all = whole_tubs(sum(due.values()))
    given_up = min(due_in_all, _nearest_tub(sum(due[c.uid] for c in claimants if c.to_garden)))
    if any(c.to_garden for c in claimants):
        due = entitlements(rule, takers, due_in_all - given_up)
    tubs = whole_tubs(sum(due[c.uid] for c in takers))
    done = apportion(tuple(_owed(rule, c, due[c.uid]) for c in takers), tubs)
    shares = tuple(
        Share(
            uid=c.uid,
            entitlement_millionths=0 if c.gives else due[c.uid],
            credit_before_millionths=c.credit_millionths,
            tubs=done.tubs.get(c.uid, 0),
            credit_after_millionths=done.credits.get(c.uid, c.credit_millionths),
        )
        for c in sorted(claimants, key=lambda c: c.uid)
    )
    left_over = shareable - sum(done.tubs.values())
    return Split(harvested_millionths, reserve_millionths, shares, left_over, given_up, done.tie)


def garden_reserve(harvested_millionths: int, percent: int) -> int:
    """The garden's part: the part tub, and whole tubs up to the nearest to its percent (a half goes to it)."""
    part = harvested_millionths % MILLIONTHS
    goal = harvested_millionths * percent // 100
    return part + _nearest_tub(max(0, goal - part)) * MILLIONTHS


def _owed(rule: SharingRule, claimant: Claimant, entitlement: int) -> Owed:
    return Owed(claimant.uid, entitlement, claimant.credit_millionths, most_at_once(rule, claimant))


def _nearest_tub(millionths: int) -> int:
    return (2 * millionths + MILLIONTHS) // (2 * MILLIONTHS)
