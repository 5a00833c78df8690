"""What to do about a cause, with amounts: litres of browns or water, turns, days. Whole litres, rounded up.

Litres come from the heap as it lies: level x place, at 0.6 kg/L. Its moisture is what a squeeze says, since the books
don't know what has dried or drained since; the mix of what went in decides where nitrogen or carbon is the matter, and
where an open hatch is wetter still than wet. A step without a figure is said without one: who has read no level gets
no litres.

    100 L place, 60 % full, squeeze wet, pellets    36 kg at 70 % -> 60 %: 7 kg, 11 L
    the same with leaves                            16 kg, 234 L: 30 L fit, the rest when it has sunk
    100 L place, 60 % full, squeeze dry             36 kg at 40 % -> 55 %: 12 L of water
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from bins.process.amendment import NotAchievable, amount_for_c_to_n, amount_for_moisture
from bins.process.causes import Cause
from bins.process.material import Material
from bins.process.materials import KITCHEN_SCRAPS
from bins.process.mix import C_TO_N_BEST, MOISTURE_BEST, Band, Portion, moisture
from bins.process.reading import Squeeze

HEAP_KG_PER_LITRE = (
    0.6  # chosen: scraps at 0.45 sink and soak to about that; the load on a floor is counted with it too
)
# G6, the squeeze test: dusty is under 44 %, one or two drops 50-60 % (LSU AgCenter); a stream has no figure in print.
MOISTURE_FELT = {Squeeze.DRY: Band(0.0, 0.44), Squeeze.RIGHT: Band(0.50, 0.60), Squeeze.WET: Band(0.65, 1.0)}
DRY_MOISTURE, WET_MOISTURE = 0.40, 0.70  # chosen: a little past the edge, so that a remedy is no flood
DAMP_MOISTURE = 0.55  # middle of the preferred band
FILLED_TO = 90  # chosen, percent: past that nothing tumbles
TURNS = 5  # common practice: five or six turns
SHARE_OF_HEAP = 0.10  # chosen: browns by eye where the books don't say, a tenth of what is there
SHARE_TO_COVER = 0.05  # chosen: about three centimetres over an open hatch
SHARE_OF_SCRAPS = 0.20  # chosen: fresh scraps by eye for a batch that starves
CLOSE_TO = 75  # the closing mark: head room to tumble
HALF = 50  # half full is what keeps some heat


class Act(StrEnum):
    """One step of a remedy. Those with an amount have it under the name of FIGURE_OF."""

    SHUT = "shut"
    CLOSE_GAPS = "close_gaps"
    PEST_CONTROL = "pest_control"
    STOP_ADDING = "stop_adding"
    TAKE_OUT = "take_out"
    ADD_BROWNS = "add_browns"
    ADD_WATER = "add_water"
    ADD_SCRAPS = "add_scraps"
    FILL_UP = "fill_up"
    COVER = "cover"
    BREAK_UP = "break_up"
    TURN = "turn"
    TURN_AGAIN = "turn_again"
    JOIN_OPEN = "join_open"
    LEAVE_LARVAE = "leave_larvae"
    WAIT_FOR_WARMTH = "wait_for_warmth"
    WAIT = "wait"
    MEND = "mend"
    SIEVE = "sieve"
    TEST = "test"


FIGURE_OF: Mapping[Act, str] = {
    Act.ADD_BROWNS: "browns_litres",
    Act.ADD_WATER: "water_litres",
    Act.ADD_SCRAPS: "scraps_litres",
    Act.FILL_UP: "fill_litres",
    Act.COVER: "cover_litres",
    Act.TAKE_OUT: "out_litres",
    Act.TURN: "turns",
    Act.TURN_AGAIN: "every_days",
    Act.WAIT: "wait_days",
}
# Steps in the order in which they are done. Where a figure is nought its step is left out; see `steps`.
ACTS: Mapping[Cause, tuple[Act, ...]] = {
    Cause.TOO_WET: (Act.ADD_BROWNS, Act.TURN, Act.TURN_AGAIN),
    Cause.NO_AIR: (Act.TURN, Act.TURN_AGAIN),
    Cause.TOO_FEW_BROWNS: (Act.ADD_BROWNS, Act.TURN),
    Cause.TOO_MANY_BROWNS: (Act.ADD_SCRAPS, Act.JOIN_OPEN, Act.TURN),
    Cause.TOO_DRY: (Act.ADD_WATER, Act.TURN),
    Cause.TOO_LITTLE: (Act.FILL_UP, Act.JOIN_OPEN),
    Cause.COLD_WEATHER: (Act.WAIT_FOR_WARMTH,),
    Cause.MATTED: (Act.BREAK_UP, Act.TURN),
    Cause.BIG_PIECES: (Act.SIEVE,),
    Cause.TOO_HOT: (Act.ADD_WATER, Act.TURN, Act.TURN_AGAIN),
    Cause.BARE_SCRAPS: (Act.COVER, Act.TURN_AGAIN),
    Cause.SOLDIER_FLIES: (Act.LEAVE_LARVAE,),
    Cause.WAY_IN: (Act.SHUT, Act.CLOSE_GAPS, Act.PEST_CONTROL),
    Cause.TOO_FULL: (Act.STOP_ADDING, Act.TAKE_OUT),
    Cause.WORN: (Act.MEND,),
    Cause.SOUR_START: (Act.ADD_BROWNS, Act.TURN, Act.TURN_AGAIN),
    Cause.FED_LATE: (Act.STOP_ADDING, Act.WAIT),
    Cause.TOO_EARLY: (Act.WAIT,),
    Cause.FINISHED: (Act.TEST,),
}


@dataclass(frozen=True, slots=True)
class Heap:
    """The batch as it lies. `went_in`: what the books know; `browns`: the site's kind, with a known weight per litre.

    ValueError for a place of no litres, a level outside 0 to 100 or browns that nobody can measure out.
    """

    place_litres: int
    level_percent: int | None
    browns: Material
    is_filling: bool
    squeeze: Squeeze | None = None
    went_in: tuple[Portion, ...] = ()
    wait_days: int | None = None

    def __post_init__(self) -> None:
        if self.place_litres < 1 or self.browns.kg_per_litre is None:
            raise ValueError("a heap stands in a place with litres, and its browns have a weight per litre")
        if self.level_percent is not None and not 0 <= self.level_percent <= 100:
            raise ValueError(f"a level is 0 to 100 percent, not {self.level_percent}")

    @property
    def litres(self) -> float:
        """What lies there; 0 where nobody has looked."""
        return self.place_litres * (self.level_percent or 0) / 100

    @property
    def room_litres(self) -> int:
        """What still fits; 0 where nobody has looked."""
        if self.level_percent is None:
            return 0
        return max(0, self.place_litres * (FILLED_TO - self.level_percent) // 100)

    def portion(self, water_share: float) -> Portion:
        """The heap as one material. Carbon and nitrogen of kitchen scraps: only its water is asked for."""
        material = Material("heap", KITCHEN_SCRAPS.carbon_dry, KITCHEN_SCRAPS.nitrogen_dry, water_share)
        return Portion(material, self.litres * HEAP_KG_PER_LITRE)


def figures_of(cause: Cause, heap: Heap) -> dict[str, int]:
    """The amounts of the remedy by the names of FIGURE_OF; what can't be told has none, what isn't needed neither.

    `lacking_litres`: browns that are needed as well and don't fit in.
    """
    found: dict[str, int | None] = {}
    match cause:
        case Cause.TOO_WET:
            found = _browns(_for_moisture(heap), heap) | {"turns": TURNS, "every_days": 2}
        case Cause.NO_AIR:
            found = {"turns": TURNS, "every_days": 2}
        case Cause.TOO_FEW_BROWNS:
            found = _browns(_for_nitrogen(heap), heap) | {"turns": TURNS}
        case Cause.TOO_MANY_BROWNS:
            found = {"scraps_litres": _scraps(heap) if heap.is_filling else None, "turns": TURNS}
        case Cause.TOO_DRY:
            found = {"water_litres": _water(heap), "turns": TURNS}
        case Cause.TOO_LITTLE:
            lacking = HALF - heap.level_percent if heap.level_percent is not None else 0
            found = {"fill_litres": ceil(heap.place_litres * lacking / 100) if heap.is_filling else None}
        case Cause.MATTED:
            found = {"turns": TURNS}
        case Cause.TOO_HOT:
            water = _water(heap) if heap.squeeze is Squeeze.DRY else None
            found = {"water_litres": water, "turns": TURNS, "every_days": 1}
        case Cause.BARE_SCRAPS:
            found = {"cover_litres": ceil(SHARE_TO_COVER * heap.place_litres), "every_days": 2}
        case Cause.TOO_FULL:
            over = (heap.level_percent or 0) - CLOSE_TO
            found = {"out_litres": ceil(heap.place_litres * over / 100)}
        case Cause.SOUR_START:
            found = _browns(SHARE_OF_HEAP * heap.litres, heap) | {"turns": TURNS, "every_days": 1}
        case Cause.FED_LATE | Cause.TOO_EARLY:
            found = {"wait_days": heap.wait_days}
    return {name: value for name, value in found.items() if value is not None and value > 0}


def steps(cause: Cause, figures: Mapping[str, float], *, is_filling: bool) -> tuple[Act, ...]:
    """The steps that these figures leave, in the order of doing."""
    return tuple(act for act in ACTS[cause] if _is_meant(act, cause, figures, is_filling))


def _is_meant(act: Act, cause: Cause, figures: Mapping[str, float], is_filling: bool) -> bool:
    match act:
        case Act.ADD_SCRAPS | Act.FILL_UP:  # fresh scraps in a closed batch would send it back
            return is_filling
        case Act.JOIN_OPEN:
            return not is_filling
        case Act.ADD_WATER if cause is Cause.TOO_HOT:
            return FIGURE_OF[act] in figures
        case Act.TAKE_OUT | Act.TURN | Act.TURN_AGAIN | Act.WAIT:
            return FIGURE_OF[act] in figures
    return True  # browns, water or a cover without a figure: "some"


def _browns(litres: float | None, heap: Heap) -> dict[str, int | None]:
    """Whole litres that fit, and those that don't; none where nobody has read a level."""
    if litres is None or heap.level_percent is None or litres <= 0:
        return {}
    whole = ceil(litres - 1e-9)
    fits = min(whole, heap.room_litres)
    return {"browns_litres": fits, "lacking_litres": whole - fits}


def _for_moisture(heap: Heap) -> float | None:
    """Litres of the site's browns that bring a wet heap to the preferred band's upper end."""
    if not heap.litres:
        return None
    found = amount_for_moisture((heap.portion(_wet_moisture(heap)),), heap.browns, MOISTURE_BEST.high)
    return None if isinstance(found, NotAchievable) else found.wet_kg / (heap.browns.kg_per_litre or 1)


def _wet_moisture(heap: Heap) -> float:
    """What a wet heap holds at least; while it fills, the books may know of more."""
    if heap.is_filling and _has_nitrogen(heap.went_in):
        return max(WET_MOISTURE, moisture(heap.went_in))
    return WET_MOISTURE


def _for_nitrogen(heap: Heap) -> float | None:
    """Litres of browns that bring what went in to the preferred band's lower end, all carbon counted; else by eye."""
    by_eye = SHARE_OF_HEAP * heap.litres
    if not heap.is_filling or not _has_nitrogen(heap.went_in):
        return by_eye  # of a closed batch the books don't know what has rotted since
    found = amount_for_c_to_n(heap.went_in, heap.browns, C_TO_N_BEST.low)
    if isinstance(found, NotAchievable) or not found.wet_kg:
        return by_eye
    return found.wet_kg / (heap.browns.kg_per_litre or 1)


def _scraps(heap: Heap) -> int | None:
    """Litres of scraps without browns that feed a starving batch, by the carbon that takes part; else by eye."""
    by_eye = ceil(SHARE_OF_SCRAPS * heap.litres) or None
    if not _has_nitrogen(heap.went_in):
        return by_eye
    found = amount_for_c_to_n(
        tuple(Portion(_available(one.material), one.wet_kg) for one in heap.went_in),
        _available(KITCHEN_SCRAPS),
        C_TO_N_BEST.high,
    )
    if isinstance(found, NotAchievable) or not found.wet_kg:
        return by_eye
    return min(ceil(found.wet_kg / (KITCHEN_SCRAPS.kg_per_litre or 1)), heap.room_litres) or by_eye


def _water(heap: Heap) -> int | None:
    """Litres of water that bring a dry heap to the middle of the preferred band."""
    lacking = heap.litres * HEAP_KG_PER_LITRE * (DAMP_MOISTURE - DRY_MOISTURE) / (1 - DAMP_MOISTURE)
    return ceil(lacking - 1e-9) or None


def _available(material: Material) -> Material:
    """The same with only the carbon that takes part within weeks."""
    return Material(
        material.code, material.carbon_dry * material.available, material.nitrogen_dry, material.moisture,
        kg_per_litre=material.kg_per_litre,
    )  # fmt: skip


def _has_nitrogen(portions: tuple[Portion, ...]) -> bool:
    return any(one.dry_kg * one.material.nitrogen_dry > 0 for one in portions)
