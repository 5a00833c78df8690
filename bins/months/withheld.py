"""Cells of a breakdown that would show what few households did.

A cell of fewer than five households is withheld, and more with it until five households stand behind what is withheld:
whoever takes the other cells from the total, which is always shown, finds what all of these did together.
"""

from collections.abc import Collection, Hashable, Mapping

FEWEST = 5


def withheld(households: Mapping[str, Collection[Hashable]]) -> frozenset[str]:
    """Names of the cells to withhold, given the households behind each. Empty cells hide nobody.

    households   weighed 2, counted 9, guessed 6         ->  weighed and guessed (the next smallest)
                 weighed 2, counted 12                   ->  both
                 weighed 7, counted 9                    ->  none
                 weighed 1, counted 2, guessed 9         ->  all: the first two are three households together
    """
    filled = sorted((len(set(who)), name) for name, who in households.items() if who)
    hidden = [name for count, name in filled if count < FEWEST]
    others = [name for count, name in filled if count >= FEWEST]
    while (
        hidden and others and (len(hidden) == 1 or len({one for name in hidden for one in households[name]}) < FEWEST)
    ):
        hidden.append(others.pop(0))
    return frozenset(hidden)
