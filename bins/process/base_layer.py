"""The browns that lie in an empty chamber before the first pail: they catch the first wet, and let air in below.

500 L chamber, wood shavings   50 L        500 L chamber, wood pellets   17 L
100 L chamber, dry leaves      10 L        100 L chamber, wood pellets    4 L
"""

from math import ceil

from bins.process.materials import PELLETS

SHARE = 0.10  # chosen: a hand's breadth in a drum; much more takes the room of a week's pails
PELLETS_SWELL = 3  # from memory: wood pellets fall apart in the wet to about three times their volume


def base_layer_litres(chamber_litres: int, browns: str) -> int:
    """Loose whole litres, rounded up, of a kind of browns (a code of materials.py). ValueError below 1 L."""
    if chamber_litres < 1:
        raise ValueError("a chamber holds something")
    swell = PELLETS_SWELL if browns == PELLETS.code else 1
    return ceil(chamber_litres * SHARE / swell)
