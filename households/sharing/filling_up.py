"""Dividing an amount by weight between lower and upper limits, in exact integers: water-filling.

Everyone gets in proportion to weight, but no less than its lower and no more than its upper limit. Where the lower
limits pull up more than the upper ones press down, those pulled up are settled at their limit, else those pressed
down; the rest is divided again among the others; until nobody is outside. With equal weights and requests as upper
limits this is the constrained equal awards rule (max-min fairness). If there is too little for the lower limits they
are requests: everyone gets alike, up to its lower limit.

    limits 2, 2.6, 4, 5; amount 10 (Keshav 1997): 2.5 each -> 2 | 2.67 each -> 2, 2.6 | 2.7, 2.7
    weights 6, 3, 1, at least 2 each; amount 10:  6, 3, 1 -> the last is pulled up to 2 | 5.33, 2.67
"""

from dataclasses import dataclass
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Stake:
    """A household's weight (0 or more), the least it is to get, and the most (None: no limit).

    Without weight it gets nothing, whatever its limits. ValueError below 0, or for more at least than at most.
    """

    uid: UUID
    weight: int
    most: int | None = None
    least: int = 0

    def __post_init__(self) -> None:
        if self.weight < 0 or self.least < 0 or (self.most is not None and self.most < self.least):
            raise ValueError("weight and limits are 0 or more, and the least is no more than the most")


def fill_up(stakes: tuple[Stake, ...], amount: int) -> dict[UUID, int]:
    """What each gets of `amount` (0 or more, in the smallest unit), keyed by uid.

    The sum is the amount, or the sum of the upper limits of those with weight if that is less. Units that don't
    divide go to the largest fractions, ties by uid. ValueError on a negative amount or a uid given twice.
    """
    if amount < 0 or len({s.uid for s in stakes}) != len(stakes):
        raise ValueError("an amount is 0 or more, and each uid appears once")
    given = {s.uid: 0 for s in stakes}
    open_stakes = [s for s in stakes if s.weight > 0]
    if sum(s.least for s in open_stakes) > amount:
        alike = tuple(Stake(s.uid, 1, s.least) for s in open_stakes)
        return given | fill_up(alike, amount)
    left = amount
    while open_stakes:
        total = sum(s.weight for s in open_stakes)
        # exact: how far the limits move each from left * weight / total, times total, without dividing
        moved = [(s, _limited(s, left * s.weight, total) - left * s.weight) for s in open_stakes]
        balance = sum(by for _, by in moved)
        settled = [s for s, by in moved if (by > 0 and balance >= 0) or (by < 0 and balance <= 0)]
        if not settled:
            break
        up = {s.uid for s, by in moved if by > 0}
        for s in settled:
            given[s.uid] = s.least if s.uid in up else s.most or 0
        left -= sum(given[s.uid] for s in settled)
        open_stakes = [s for s in open_stakes if s not in settled]
    given.update(_in_proportion(open_stakes, left))
    return given


def _limited(stake: Stake, share: int, total: int) -> int:
    """A share that is `total` times too large, within the limits."""
    floor = max(share, stake.least * total)
    return floor if stake.most is None else min(floor, stake.most * total)


def _in_proportion(stakes: list[Stake], amount: int) -> dict[UUID, int]:
    total = sum(s.weight for s in stakes)
    if total == 0:
        return {}
    given = {s.uid: amount * s.weight // total for s in stakes}
    by_fraction = sorted(stakes, key=lambda s: (-(amount * s.weight % total), s.uid))
    for s in by_fraction[: amount - sum(given.values())]:
        given[s.uid] += 1
    return given
