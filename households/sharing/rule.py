"""The rules of sharing as data, and the entitlement each gives: millionths of a tub, summing exactly."""

from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID

from households.sharing.claimant import Claimant
from households.sharing.filling_up import Stake, fill_up
from households.sharing.tub import MILLIONTHS, whole_tubs


class Kind(StrEnum):
    """How a harvest is divided. Stored with the batch when it opens; never rename one."""

    EQUAL = "equal"  # per household that took part
    CONTRIBUTION = "contribution"  # by grams brought, with a ceiling
    CARE = "care"  # by minutes of care work, with a ceiling
    REQUEST = "request"  # by weight, up to what each asked for (weights 1: constrained equal awards)


@dataclass(frozen=True, slots=True)
class SharingRule:
    """The rule of one batch. `ceiling_percent` (of an equal share; None: none) bounds CONTRIBUTION and CARE.

    `reserve_percent` goes to the garden first. Whoever took part is due at least `least_tubs` (under REQUEST at most
    what it asked for) as far as they reach, and nobody is due or handed more than `most_tubs` (None: no limit) at
    once. Raises ValueError outside 0-100, for a ceiling below 100, or for more at least than at most.
    """

    kind: Kind = Kind.EQUAL
    reserve_percent: int = 20  # chosen: the beds are everybody's
    ceiling_percent: int | None = 200  # chosen: twice an equal share, so that one big kitchen isn't the harvest
    least_tubs: int = 0
    most_tubs: int | None = None

    def __post_init__(self) -> None:
        if self.least_tubs < 0 or (self.most_tubs is not None and self.most_tubs < max(1, self.least_tubs)):
            raise ValueError("the least is 0 tubs or more, the most is a tub or more and no less than the least")
        if not 0 <= self.reserve_percent <= 100:
            raise ValueError("the garden's reserve is 0 to 100 percent")
        if self.ceiling_percent is not None and self.ceiling_percent < 100:
            raise ValueError("a ceiling under an equal share would leave compost over for no reason")


def entitlements(rule: SharingRule, claimants: tuple[Claimant, ...], tubs: int) -> dict[UUID, int]:
    """What each is due of `tubs` whole tubs under the rule, in millionths, before any credit.

    The sum is a whole number of tubs: `tubs`, or less where ceilings or requests leave some over. Those whose
    share goes to the garden are in it like everyone else.
    """
    due = fill_up(_stakes(rule, claimants, tubs), tubs * MILLIONTHS)
    whole = whole_tubs(sum(due.values()))
    if sum(due.values()) == whole * MILLIONTHS:
        return due
    # ceilings left part of a tub over: the part goes to the garden, or credits would drift upwards for ever
    return fill_up(_stakes(rule, claimants, tubs), whole * MILLIONTHS)


def _stakes(rule: SharingRule, claimants: tuple[Claimant, ...], tubs: int) -> tuple[Stake, ...]:
    part = sum(c.weight > 0 for c in claimants)
    return tuple(_stake(rule, c, _most(rule, c, tubs, part)) for c in claimants)


def _stake(rule: SharingRule, claimant: Claimant, most: int | None) -> Stake:
    least = rule.least_tubs * MILLIONTHS
    weight = min(claimant.weight, 1) if rule.kind is Kind.EQUAL else claimant.weight
    return Stake(claimant.uid, weight, most, least if most is None else min(least, most))


def _most(rule: SharingRule, claimant: Claimant, tubs: int, part: int) -> int | None:
    """The tightest of the limits that hold for a household, in millionths; None for none."""
    limits = [] if rule.most_tubs is None else [rule.most_tubs * MILLIONTHS]
    if rule.kind is Kind.REQUEST:
        limits.append((claimant.request_tubs or 0) * MILLIONTHS)
    elif rule.kind is not Kind.EQUAL and rule.ceiling_percent is not None and part:
        limits.append(tubs * MILLIONTHS * rule.ceiling_percent // (100 * part))
    return min(limits, default=None)


def most_at_once(rule: SharingRule, claimant: Claimant) -> int | None:
    """The most whole tubs that a household is handed, whatever is owed to it; None for no limit."""
    limits = [] if rule.most_tubs is None else [rule.most_tubs]
    if rule.kind is Kind.REQUEST:
        limits.append(claimant.request_tubs or 0)
    return min(limits, default=None)
