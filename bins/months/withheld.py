"""Cells of a breakdown that would show what few households did.

A cell of fewer than five households is withheld, and one more with it: a single gap could be found by taking
the others from the total, which is always shown.
"""

from collections.abc import Mapping

FEWEST = 5


def withheld(households: Mapping[str, int]) -> frozenset[str]:
    """Names of the cells to withhold, given how many households stand behind each. Empty cells hide nobody.

    households   weighed 2, counted 9, guessed 6   ->  weighed and guessed (the next smallest)
                 weighed 2, counted 12             ->  both
                 weighed 7, counted 9              ->  none
    """
    filled = sorted((count, name) for name, count in households.items() if count > 0)
    small = [name for count, name in filled if count < FEWEST]
    if len(small) == 1 and len(filled) > 1:
        small.append(next(name for _, name in filled if name not in small))
    return frozenset(small)
