"""The twelve numbers that differ from batch to batch and nobody knows: where each lies, and how widely.

A member draws each from its row of the table of draws, z standard normal: centre * exp(spread z), or centre + spread z.
The centres are calibrated together (README.md: what to, and what was missed); spreads are chosen as wide as print is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bins.process.model.border import PARAMETERS, Site
from bins.process.model.rates import Floats


@dataclass(frozen=True, slots=True)
class Prior:
    """One parameter. `log`: it is multiplied, and never below 0."""

    name: str
    centre: float
    spread: float
    log: bool = True


PRIORS = (
    # Calibrated, 1/day at the optimum: first-order rates for scraps in print run from 0.05 to 1.5 or so (M).
    Prior("fast_rate", 0.37, 0.35),
    Prior("slow_rate", 0.16, 0.30),
    Prior("wood_rate", 0.002, 0.50),  # chosen: wood of browns outlives a batch
    Prior("waking_rate", 1.8, 0.40),  # calibrated: colonised within days of warmth
    Prior("wall", 8.6, 0.30),  # calibrated, kJ/(h m2 K), 2.5 W: wall, still air beside it and material in series
    Prior("exchange", 0.39, 0.30),  # calibrated, m3 an hour and m2 of wall at rest
    Prior("settled", 0.15, 0.03, log=False),  # chosen: free air space of settled scraps without wood
    Prior("fast_share", 1.0, 0.15),  # chosen: stretches the share of fast matter in scraps
    Prior("inert_share", 1.0, 0.25),  # chosen: the same for what never goes
    Prior("scraps_moisture", 0.0, 0.03, log=False),  # chosen: added to the moisture of scraps
    Prior(
        "scraps_mass", 1.0, 0.15
    ),  # chosen: density of kitchen scraps in print spans 0.24-0.9; a pail counted is a guess
    Prior("air", 0.0, 1.5, log=False),  # chosen, K: the drum's corner against the town's mean
)
assert len(PRIORS) == PARAMETERS


@dataclass(frozen=True, slots=True)
class Draws:
    """The parameters of some members, one value a member, in the units of `PRIORS`."""

    fast_rate: Floats
    slow_rate: Floats
    wood_rate: Floats
    waking_rate: Floats
    wall: Floats
    exchange: Floats
    settled: Floats
    fast_share: Floats
    inert_share: Floats
    scraps_moisture: Floats
    scraps_mass: Floats
    air: Floats

    @classmethod
    def of(cls, z: Floats, site: Site | None = None) -> "Draws":
        """From standard normal quantiles, one row a member and `PARAMETERS` columns."""
        site = site or Site()
        moved = np.asarray(site.shift) + np.asarray(site.width) * z
        return cls(*(_value(prior, moved[..., at]) for at, prior in enumerate(PRIORS)))

    @classmethod
    def stacked(cls, draws: "Sequence[Draws]") -> "Draws":
        """Several batches' members, one batch a row."""
        return cls(*(np.stack([getattr(one, name) for one in draws]) for name in cls.__slots__))


def _value(prior: Prior, z: Floats) -> Floats:
    # exp of a handful of numbers, once: rounded so that a library's last digit doesn't matter
    value = prior.centre * np.exp(prior.spread * z) if prior.log else prior.centre + prior.spread * z
    return np.asarray(np.round(value, 9), dtype=np.float32)
