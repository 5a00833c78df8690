"""The store of browns: for how long it lasts, when to order, how much may lie there and what to mind.

    litres a week = households x litres of scraps a week x litres of browns for each litre of scraps
    reorder point = litres a week x (weeks until a delivery + weeks between two looks + weeks for safety)

Worked: 12 households, 4.9 L a week each, 1:1; 2 + 1 + 2 weeks: 58.8 L a week, order at 294 L.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import floor

PELLETS = "pellets"
MOST_WEEKS = 26  # half a year: past that it is no store but a habit


class Room(StrEnum):
    """Where the browns lie."""

    CLOSED = "closed"  # a cellar or shed without a steady draught
    AIRED = "aired"  # a room with openings that stay open
    OUTDOORS = "outdoors"  # under a roof or a lid


class Caution(StrEnum):
    """What to mind; `coordinator` has a sentence for each."""

    ESCAPE_ROUTE = "escape_route"  # never in a stairway or another way out: they burn, and they block
    CARBON_MONOXIDE = "carbon_monoxide"  # bulk pellets give it off; nobody can smell it
    KEEP_DRY = "keep_dry"


# Litres that may lie in one place unless the site says otherwise. All chosen: no published limit is that small.
# Pellets in a closed room: a dozen bags, some 200 kg, hardly a thousandth of the stores that accidents are known from.
MOST_LITRES = {Room.CLOSED: 500, Room.AIRED: 1000, Room.OUTDOORS: 1000}
MOST_PELLETS_CLOSED_LITRES = 300


@dataclass(frozen=True, slots=True)
class Weeks:
    """Weeks from ordering to delivery, between two looks at the store, and for safety: 0 to 26 each."""

    delivery: int = 2  # chosen
    review: int = 1  # chosen: a look a week
    safety: int = 2  # chosen

    def __post_init__(self) -> None:
        if not all(0 <= weeks <= MOST_WEEKS for weeks in (self.delivery, self.review, self.safety)):
            raise ValueError("each span is 0 to 26 weeks")

    @property
    def together(self) -> int:
        return self.delivery + self.review + self.safety


def weekly_litres(households: int, scraps_litres: float, browns_per_scraps: float) -> float:
    """Litres of browns a week, planned. `scraps_litres`: of one household and week, loose. ValueError below 0."""
    if households < 0 or scraps_litres < 0 or browns_per_scraps < 0:
        raise ValueError("nobody uses less than nothing")
    return households * scraps_litres * browns_per_scraps


def reorder_point_litres(weekly: float, weeks: Weeks) -> int:
    """At or below this many litres it is time to order. Whole litres, to the nearest. ValueError below 0."""
    if weekly < 0:
        raise ValueError("nobody uses less than nothing")
    return round(weekly * weeks.together)


def days_of_cover(litres: float, weekly: float) -> int | None:
    """Whole days that the store lasts; None where nothing is used. An empty or overdrawn store lasts 0 days."""
    if weekly <= 0:
        return None
    return max(0, floor(litres * 7 / weekly + 1e-9))


def largest_store_litres(kind: str, room: Room, own: int | None = None) -> int:
    """How many litres may lie in one place: the site's own figure (of its insurer, say), else the usual one."""
    if own is not None:
        return own
    if kind == PELLETS and room is Room.CLOSED:
        return MOST_PELLETS_CLOSED_LITRES
    return MOST_LITRES[room]


def cautions(kind: str, room: Room) -> tuple[Caution, ...]:
    """What to mind there, the gravest first."""
    gas = (Caution.CARBON_MONOXIDE,) if kind == PELLETS and room is not Room.OUTDOORS else ()
    return (*gas, Caution.ESCAPE_ROUTE, Caution.KEEP_DRY)
