"""Surface of a drum and what of it the material touches."""

from math import pi
from typing import Any

LENGTH_IN_DIAMETERS = 1.3  # Mason & Milke 2005 compare vessels like this one: 200 L have 9.54 m2/m3
TOUCHED_HALF = 0.5  # chosen: a quarter full touches half of the wall, half full three quarters


def surface_m2(litres: float) -> float:
    """Wall and both ends of a cylinder 1.3 diameters long."""
    diameter = (litres / 1000 * 4 / (pi * LENGTH_IN_DIAMETERS)) ** (1 / 3)
    return float(pi * diameter * diameter * (LENGTH_IN_DIAMETERS + 0.5))


def surface_per_volume(litres: float) -> float:
    """The same in m2 a m3."""
    return surface_m2(litres) / (litres / 1000)


def touched(filled: Any) -> Any:
    """Share of the wall that the material touches when `filled` (0 to 1) of the room is taken: 0 at 0, 1 at 1."""
    return filled * (1.0 + TOUCHED_HALF) / (filled + TOUCHED_HALF)
