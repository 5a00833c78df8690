"""What a vessel's make means in numbers: how much heat its wall loses and how much air it lets in."""

from typing import Any

import numpy as np

from bins.process.model.balance import Coefficients
from bins.process.model.border import Insulation, Vents, Vessel
from bins.process.model.geometry import surface_m2
from bins.process.model.parameters import Draws
from bins.process.model.rates import vapour_kg_per_m3

HOURS = 24.0
WALL = {Insulation.BARE: 1.0, Insulation.DOUBLE: 0.7, Insulation.FOAM: 0.4}  # chosen: share of a bare wall's loss
VENTS = {Vents.FEW: 0.5, Vents.USUAL: 1.0, Vents.MANY: 2.0}  # chosen: against the usual grilles
AIR_HUMIDITY = 0.70  # chosen: a temperate yard's mean relative humidity


def coefficients(draws: Draws, litres: Any, wall: Any, vents: Any, air_c: Any, pace: Any = 1.0) -> Coefficients:
    """One column a member: its draws, its vessel's litres, wall and vents (factors) and the day's air, °C.

    `pace` multiplies all speeds of decay. In the precision of the draws.
    """
    kind, shape = draws.wall.dtype, draws.wall.shape
    litres = np.broadcast_to(np.asarray(litres, dtype=np.float64), shape)
    surface = SURFACE_OF_LITRE * np.cbrt(litres * litres)
    air = (air_c + draws.air).astype(kind)
    eaten = np.stack([draws.fast_rate, draws.slow_rate, draws.wood_rate])
    return Coefficients(
        eaten=(eaten * (pace / HOURS)).astype(kind),
        waking=(draws.waking_rate * (pace / HOURS)).astype(kind),
        wall=(draws.wall * wall * surface).astype(kind),
        exchange=(draws.exchange * vents * surface).astype(kind),
        solid=(1.0 - draws.settled).astype(kind),
        per_litre=(1.0 / litres).astype(kind),
        air_c=air,
        air_vapour=AIR_HUMIDITY * vapour_kg_per_m3(air),
    )


def makes(vessel: Vessel) -> tuple[float, float, float]:
    """Litres, wall and vents of a vessel, as `coefficients` takes them."""
    return vessel.litres, WALL[vessel.insulation], VENTS[vessel.vents]


SURFACE_OF_LITRE = surface_m2(1.0)  # surfaces of like shapes go with litres to the power of two thirds
