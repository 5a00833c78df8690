"""How many households get how many tubs, without saying who, nor letting anybody work it out."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from households.sharing.rule import Kind

FEWEST = 5  # a breakdown of fewer households names them in all but word


@dataclass(frozen=True)
class Group:
    """So many households get so many tubs each."""

    households: int
    tubs: int


@dataclass(frozen=True)
class Breakdown:
    households: int
    groups: tuple[Group, ...]  # most tubs first; those withheld are left out
    withheld: int  # groups not shown

    @property
    def is_whole(self) -> bool:
        return not self.withheld


def breakdown(tubs: Iterable[int], kind: str) -> Breakdown:
    """Group households by their tubs. Under five households in all, nothing is broken down.

    Under any rule but equal shares each group of under five is withheld too, with one more, so that subtraction
    fails: it would tell how much a kitchen brings, who does the work, or what somebody asked for. In equal shares a
    group tells no more than how the last tubs fell.
    """
    counted = Counter(tubs)
    households = sum(counted.values())
    groups = [Group(counted[n], n) for n in sorted(counted, reverse=True)]
    shown = groups if households >= FEWEST else []
    if shown and Kind(kind) is not Kind.EQUAL:
        shown = [group for group in groups if group.households >= FEWEST]
        if len(groups) - len(shown) == 1 and shown:
            shown.remove(min(shown, key=lambda group: (group.households, group.tubs)))
    return Breakdown(households, tuple(shown), len(groups) - len(shown))
