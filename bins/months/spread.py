"""How far a counted or guessed amount may be off: what the building's own weighed pails say.

basis              counted             guessed (half as far again, chosen)
ten weighed pails  their 10th to 90th hundredth, over the figure in use
fewer              0.24 to 0.9 kg/L, as kitchen scraps span in print, over 0.45
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bins.models import PailWeighing

from .asking import Asked, ask

ENOUGH = 10
IN_PRINT = (0.24 / 0.45, 0.9 / 0.45)  # densities of kitchen scraps in print, over the bucket method's 0.45 kg/L
GUESSED = 1.5  # chosen: a guess errs half as far again


@dataclass(frozen=True)
class Spread:
    """Factors from the figure in use to the lowest and highest likely; `weighed` pails say so, or none do."""

    low: float
    high: float
    weighed: int

    def __post_init__(self) -> None:
        if not 0 < self.low <= 1 <= self.high:
            raise ValueError(f"a spread goes from below 1 to above: {self.low}, {self.high}")

    def guessed(self) -> "Spread":
        """Wider, and never below nothing."""
        return Spread(max(0.05, 1 - (1 - self.low) * GUESSED), 1 + (self.high - 1) * GUESSED, self.weighed)


def spread_of(ratios: Sequence[float]) -> Spread:
    """From the ratios of weighed densities to the figure in use; what is printed where there are too few."""
    if len(ratios) < ENOUGH:
        return Spread(*IN_PRINT, weighed=0)
    ordered = sorted(ratios)
    last = len(ordered) - 1
    return Spread(min(1.0, ordered[round(last * 0.1)]), max(1.0, ordered[round(last * 0.9)]), len(ordered))


def spread(asked: Asked) -> Spread:
    """The spread at a period's end, from pails of the half-year before, or of the whole year; one query."""
    return spread_of([net_g * 1000 / pail_ml / in_use for net_g, pail_ml, in_use in ask(_weighed, asked)])


def _weighed(asked: Asked) -> Any:
    return (
        PailWeighing.objects.within(asked.building)
        .filter(counts_at__lte=asked.end, counts_at__gt=asked.weighed_since)
        .filter(reverses__isnull=True, reversed_by__isnull=True)
        .values_list("net_g", "pail_ml", "pail__scraps_g_per_l")
    )
