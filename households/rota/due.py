"""What is due from each household, how far each is ahead of it, and how alike all are."""

from collections.abc import Sequence
from fractions import Fraction

from households.rota.problem import Household


def due_seconds(households: Sequence[Household], minutes: int) -> list[int]:
    """`minutes` of work (0 or more) divided in proportion to days present: whole seconds that sum exactly.

    Seconds that don't divide go to the largest fractions, then in the order given. All 0 if nobody is present.
    """
    days = sum(h.days_present for h in households)
    if not days:
        return [0] * len(households)
    seconds = 60 * minutes
    due = [seconds * h.days_present // days for h in households]
    by_fraction = sorted(range(len(due)), key=lambda n: -(seconds * households[n].days_present % days))
    for number in by_fraction[: seconds - sum(due)]:
        due[number] += 1
    return due


def jain(loads: Sequence[Fraction | int]) -> Fraction | None:
    """Jain's index of fairness: (sum)^2 / (n x sum of squares), from 1/n (one does all) to 1 (all alike). None if
    there are no loads, or nothing but zeros. Jain, Chiu, Hawe: A Quantitative Measure of Fairness, 1984."""
    squares = sum(load * load for load in loads)
    return Fraction(sum(loads)) ** 2 / (len(loads) * squares) if squares else None
