"""The site's one number of cups for a full pail, and what a whole batch lacks.

The number on the sign: 0, ½, 1, 1½, 2, then whole cups to 12. Of these the ones whose mix lies in the
preferred bands, else in the acceptable ones; of those the fewest cups, since browns cost and take room.

    a 5 L pail of scraps (2.25 kg, 80 %), cups of half a litre
    browns     cups: moisture of the mix             number
    pellets    1: 71 %   1½: 67   2: 64   3: 58      3, preferred (C:N 20 available, 51 in all)
    sawdust    10: 66 %   11: 65   12: 64            11, acceptable
    leaves     12: 76 %                              none; pellets, sawdust or cardboard would do
"""

from dataclasses import dataclass
from math import ceil

from bins.process.amendment import Goal, NotAchievable
from bins.process.material import Material
from bins.process.materials import BROWNS
from bins.process.mix import MOISTURE_BEST, Portion, available_c_to_n, c_to_n, moisture, quality

SIGN_HALF_CUPS = (0, 1, 2, 3, 4, *range(6, 25, 2))  # chosen: halves up to two cups; nobody counts past twelve
MOST_PER_SCRAPS = 3.0  # litres of browns per litre of scraps: the most in print (1:3, 1:1, 2:1, 3:1)


@dataclass(frozen=True, slots=True)
class SignNumber:
    """The number for the sign, in half cups, and the mix it makes. `preferred`: else only acceptable."""

    half_cups: int
    moisture: float
    available_c_to_n: float
    c_to_n: float
    preferred: bool


@dataclass(frozen=True, slots=True)
class Correction:
    """What the batch lacks, in whole litres: both 0 when it is in its bands."""

    browns_litres: int
    water_litres: int
    moisture_before: float
    moisture_after: float


def cups_per_pail(
    pail_litres: float,
    scraps: Material,
    browns: Material,
    cup_litres: float,
    others: tuple[Material, ...] = BROWNS,
) -> SignNumber | NotAchievable:
    """The fewest cups of `browns` for a full pail of `scraps` that give the best band there is.

    Litres above 0, both materials with a known weight per litre (ValueError otherwise). Not achievable:
    CUP_TOO_SMALL names the cup that would do, else `would_do` names the browns that would with this cup.
    """
    if pail_litres <= 0 or cup_litres <= 0:
        raise ValueError("pail and cup hold something")
    found = _best(pail_litres, scraps, browns, cup_litres)
    if found is not None:
        return found
    largest = pail_litres * MOST_PER_SCRAPS / (SIGN_HALF_CUPS[-1] / 2)
    tenths = range(ceil(cup_litres * 10), ceil(largest * 10) + 1)
    bigger = next((t / 10 for t in tenths if _best(pail_litres, scraps, browns, t / 10)), None)
    if bigger is not None:
        return NotAchievable(goal=Goal.CUP_TOO_SMALL, least_cup_litres=bigger)
    able = [
        (one.half_cups, other.code)
        for other in others
        if other.kg_per_litre is not None and (one := _best(pail_litres, scraps, other, cup_litres))
    ]
    return NotAchievable(goal=Goal.MOISTURE, would_do=tuple(code for _, code in sorted(able)))


def correct_batch(
    portions: tuple[Portion, ...], browns: Material, room_litres: int, others: tuple[Material, ...] = BROWNS
) -> Correction | NotAchievable:
    """The fewest whole litres of browns (at most `room_litres`), then of water, that bring the batch in.

    Nothing while it is in the acceptable bands; outside them the preferred ones are aimed at, and the
    acceptable ones taken if those can't be had. ValueError for an empty batch or negative room.
    """
    if room_litres < 0:
        raise ValueError("a chamber has room for 0 litres or more")
    before = moisture(portions)
    if quality(portions) > 0:
        return Correction(0, 0, before, before)
    found = _best_correction(portions, browns, room_litres)
    if found is not None:
        _, litres, water = found
        after = moisture((*portions, Portion.of_litres(browns, litres)), float(water))
        return Correction(litres, water, before, after)
    able = [
        (one[1], other.code)
        for other in others
        if other.kg_per_litre is not None and (one := _best_correction(portions, other, room_litres))
    ]
    goal = Goal.MOISTURE if before > MOISTURE_BEST.high else Goal.C_TO_N
    return NotAchievable(goal=goal, would_do=tuple(code for _, code in sorted(able)))


def _best(pail_litres: float, scraps: Material, browns: Material, cup_litres: float) -> SignNumber | None:
    best: SignNumber | None = None
    for half_cups in SIGN_HALF_CUPS:
        litres = half_cups / 2 * cup_litres
        mix = (Portion.of_litres(scraps, pail_litres), Portion.of_litres(browns, litres))
        grade = quality(mix)
        if litres > pail_litres * MOST_PER_SCRAPS or grade == 0:
            continue
        if best is None or (grade == 2 and not best.preferred):
            best = SignNumber(half_cups, moisture(mix), available_c_to_n(mix), c_to_n(mix), grade == 2)
    return best


def _best_correction(portions: tuple[Portion, ...], browns: Material, room_litres: int) -> tuple[int, int, int] | None:
    """(minus the grade, litres of browns, litres of water), the smallest, None when none is acceptable."""
    able: list[tuple[int, int, int]] = []
    for litres in range(room_litres + 1):
        mix = (*portions, Portion.of_litres(browns, litres))
        water = _water_litres(mix)
        if (grade := quality(mix, float(water))) > 0:
            able.append((-grade, litres, water))
    return min(able, default=None)


def _water_litres(mix: tuple[Portion, ...]) -> int:
    """Whole litres that lift a mix to the preferred band's lower end; 0 when it is there."""
    wet = sum(p.wet_kg for p in mix)
    lacking = wet * (MOISTURE_BEST.low - moisture(mix)) / (1 - MOISTURE_BEST.low)
    return max(0, ceil(lacking - 1e-9))
