"""Dividing an amount by weight under upper limits, in exact integers: water-filling.

All limits at first loose: everyone gets in proportion to weight. Whoever would get more than the limit gets
the limit; the rest is divided again among the others; until nobody is above. With equal weights and requests
as limits this is the constrained equal awards rule (max-min fairness).

    limits 2, 2.6, 4, 5; amount 10 (Keshav 1997): 2.5 each -> 2 | 2.67 each -> 2, 2.6 | 2.7, 2.7
"""

from dataclasses import dataclass
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Stake:
    """A household's weight (0 or more) and the most it may get (None: no limit). ValueError below 0."""

    uid: UUID
    weight: int
    most: int | None = None

    def __post_init__(self) -> None:
        if self.weight < 0 or (self.most is not None and self.most < 0):
            raise ValueError("weight and limit are 0 or more")


def fill_up(stakes: tuple[Stake, ...], amount: int) -> dict[UUID, int]:
    """What each gets of `amount` (0 or more, in the smallest unit), keyed by uid.

    The sum is the amount, or the sum of the limits of those with weight if that is less. Units that don't
    divide go to the largest fractions, ties by uid. ValueError on a negative amount or a uid given twice.
    """
    if amount < 0 or len({s.uid for s in stakes}) != len(stakes):
        raise ValueError("an amount is 0 or more, and each uid appears once")
    given = {s.uid: 0 for s in stakes}
    open_stakes = [s for s in stakes if s.weight > 0]
    left = amount
    while open_stakes:
        total = sum(s.weight for s in open_stakes)
        # exact: left * weight / total > most, without dividing
        above = [s for s in open_stakes if s.most is not None and left * s.weight >= s.most * total]
        if not above:
            break
        for s in above:
            given[s.uid] = s.most or 0
        left -= sum(s.most or 0 for s in above)
        open_stakes = [s for s in open_stakes if s not in above]
    given.update(_in_proportion(open_stakes, left))
    return given


def _in_proportion(stakes: list[Stake], amount: int) -> dict[UUID, int]:
    total = sum(s.weight for s in stakes)
    if total == 0:
        return {}
    given = {s.uid: amount * s.weight // total for s in stakes}
    by_fraction = sorted(stakes, key=lambda s: (-(amount * s.weight % total), s.uid))
    for s in by_fraction[: amount - sum(given.values())]:
        given[s.uid] += 1
    return given
