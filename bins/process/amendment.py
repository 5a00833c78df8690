"""How much of an ingredient brings a mix to a goal, or that no amount does and what would.

Both goals are one linear equation in the amount x (wet kg):
    moisture  x = (goal Q - W) / (m - goal)              Q wet mass, W its water, m the ingredient's moisture
    C:N       x = (goal N - C) / (1-M)(c - goal n)       C, N of the mix in kg; M, c, n of the ingredient
No positive solution: the ingredient lies on the same side of the goal as the mix, however much is added.
"""

from dataclasses import dataclass
from enum import StrEnum

from bins.process.material import Material
from bins.process.materials import BROWNS
from bins.process.mix import Portion, c_to_n, moisture

AT_GOAL = 1e-9  # chosen: closer than any scale weighs


class Goal(StrEnum):
    """What is to be reached."""

    MOISTURE = "moisture"
    C_TO_N = "c_to_n"
    CUP_TOO_SMALL = "cup_too_small"  # browns.py: it can be done, but not with a number that fits a sign


@dataclass(frozen=True, slots=True)
class NotAchievable:
    """No amount does it. `would_do`: codes of the ingredients that would, least weight first; may be empty.

    `least_cup_litres` only with CUP_TOO_SMALL: the smallest cup, to a tenth of a litre, that would do.
    """

    goal: Goal
    would_do: tuple[str, ...] = ()
    least_cup_litres: float | None = None

    @property
    def ingredient(self) -> str | None:
        """The one to name: of those that would do it, the one that takes the least weight."""
        return self.would_do[0] if self.would_do else None


def amount_for_moisture(
    portions: tuple[Portion, ...], ingredient: Material, goal: float, others: tuple[Material, ...] = BROWNS
) -> Portion | NotAchievable:
    """The portion that brings the mix to `goal` (fraction of wet mass, above 0, below 1), 0 kg if it is there.

    `others` are the ingredients looked through when it can't be done. ValueError for a goal out of range.
    """
    if not 0 < goal < 1:
        raise ValueError("a moisture goal lies between 0 and 1")
    return _solve(portions, ingredient, goal, others, Goal.MOISTURE)


def amount_for_c_to_n(
    portions: tuple[Portion, ...], ingredient: Material, goal: float, others: tuple[Material, ...] = BROWNS
) -> Portion | NotAchievable:
    """The portion that brings all carbon over all nitrogen to `goal` (above 0). ValueError otherwise."""
    if goal <= 0:
        raise ValueError("a C:N goal is above 0")
    return _solve(portions, ingredient, goal, others, Goal.C_TO_N)


def _solve(
    portions: tuple[Portion, ...], ingredient: Material, goal: float, others: tuple[Material, ...], kind: Goal
) -> Portion | NotAchievable:
    wet_kg = _amount(portions, ingredient, goal, kind)
    if wet_kg is not None:
        return Portion(ingredient, wet_kg)
    able = [(kg, other.code) for other in others if (kg := _amount(portions, other, goal, kind)) is not None]
    return NotAchievable(goal=kind, would_do=tuple(code for _, code in sorted(able)))


def _amount(portions: tuple[Portion, ...], ingredient: Material, goal: float, kind: Goal) -> float | None:
    now = moisture(portions) if kind is Goal.MOISTURE else c_to_n(portions)
    if abs(now - goal) < AT_GOAL:
        return 0.0
    if kind is Goal.MOISTURE:
        wet = sum(p.wet_kg for p in portions)
        missing, per_kg = (goal - now) * wet, ingredient.moisture - goal
    else:
        nitrogen = sum(p.dry_kg * p.material.nitrogen_dry for p in portions)
        dry = 1 - ingredient.moisture
        missing = (goal - now) * nitrogen
        per_kg = dry * (ingredient.carbon_dry - goal * ingredient.nitrogen_dry)
    return None if missing * per_kg <= 0 else missing / per_kg
