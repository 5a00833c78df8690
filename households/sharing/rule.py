"""The four rules of sharing as data, and the entitlement each gives: millionths of a tub, summing exactly."""

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

    `reserve_percent` goes to the garden first. Raises ValueError outside 0-100, or a ceiling below 100.
    """

    kind: Kind = Kind.EQUAL
    reserve_percent: int = 20  # chosen: the beds are everybody's
    ceiling_percent: int | None = 200  # chosen: twice an equal share, so that one big kitchen isn't the harvest

    def __post_init__(self) -> None:
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
    part = [c for c in claimants if c.weight > 0]
    if rule.kind is Kind.REQUEST:
        return tuple(Stake(c.uid, c.weight, (c.request_tubs or 0) * MILLIONTHS) for c in claimants)
    if rule.kind is Kind.EQUAL:
        return tuple(Stake(c.uid, min(c.weight, 1)) for c in claimants)
    if rule.ceiling_percent is None or not part:
        return tuple(Stake(c.uid, c.weight) for c in claimants)
    most = tubs * MILLIONTHS * rule.ceiling_percent // (100 * len(part))
    return tuple(Stake(c.uid, c.weight, most) for c in claimants)
