"""Whole tubs from entitlements: largest remainder on entitlement plus carried credit.

Tubs go out one by one, each to the household to which most is still owed. While nobody is owed less than
nothing this is the textbook method (every whole tub due, then the largest remainders); it also says what to
do when somebody is. Ties go to the larger entitlement, then to the smaller uid, and are reported.

    entitlement   credit   owed   tubs   new credit     (7 tubs, shares 46, 25, 15, 14 %)
    3.22          0        3.22   3      +0.22
    1.75          0        1.75   2      -0.25
    1.05          0        1.05   1      +0.05
    0.98          0        0.98   1      -0.02

Proved (DEVELOPERS.md): with the same n households in every split and credits that start at 0, each credit
stays above -1 tub and at or below H(n) - 1 <= ln(n) tubs, whatever the entitlements. Without memory the
same household can lose half a tub every time.
"""

from dataclasses import dataclass
from heapq import heapify, heappop, heapreplace
from uuid import UUID

from households.sharing.tub import MILLIONTHS

# Owed alike, for the report of a tie: equal shares that don't divide differ by a millionth a split, which is
# the tie rule at work and must not hide it. Chosen: a hundred splits' worth; of 40 L it is 4 ml.
ALIKE = 100


@dataclass(frozen=True, slots=True)
class Owed:
    """A household's entitlement (0 or more) and carried credit (either sign), both in millionths.

    `most`: it takes no more whole tubs than that (what it asked for), None for no limit.
    """

    uid: UUID
    entitlement: int
    credit: int = 0
    most: int | None = None

    def __post_init__(self) -> None:
        if self.entitlement < 0 or (self.most is not None and self.most < 0):
            raise ValueError("entitlement and limit are 0 or more")


@dataclass(frozen=True, slots=True)
class Tie:
    """The last tub was owed to several alike: who was tied and who got one by the stated rule."""

    tied: tuple[UUID, ...]
    served: tuple[UUID, ...]


@dataclass(frozen=True, slots=True)
class Apportioned:
    """Tubs and new credit of each, keyed by uid, and the tie if the stated rule had to decide one."""

    tubs: dict[UUID, int]
    credits: dict[UUID, int]
    tie: Tie | None


def apportion(owed: tuple[Owed, ...], tubs: int) -> Apportioned:
    """Give out `tubs` whole tubs (0 or more; 0 if nobody is there): all of them unless limits stop it.

    What is owed below nothing counts as nothing here; the rest stays as credit. Raises ValueError on negative
    tubs, tubs for nobody, or a uid given twice.
    """
    if tubs < 0 or (tubs and not owed) or len({o.uid for o in owed}) != len(owed):
        raise ValueError("tubs are 0 or more, for somebody, and each uid appears once")
    given = {o.uid: 0 for o in owed}
    # a heap of (minus what is owed, minus the entitlement, uid): its head is the next to be served
    heap = [(-max(0, o.entitlement + o.credit), -o.entitlement, o.uid) for o in owed if o.most != 0]
    heapify(heap)
    most = {o.uid: o.most for o in owed}
    served: list[tuple[int, UUID]] = []
    for _ in range(tubs):
        if not heap:
            break
        minus_owed, minus_entitlement, uid = heap[0]
        served.append((minus_owed, uid))
        given[uid] += 1
        if given[uid] == most[uid]:
            heappop(heap)
        else:
            heapreplace(heap, (minus_owed + MILLIONTHS, minus_entitlement, uid))
    tie = _tie(served, [(minus_owed, uid) for minus_owed, _, uid in heap])
    credits = {o.uid: o.entitlement + o.credit - given[o.uid] * MILLIONTHS for o in owed}
    return Apportioned(given, credits, tie)


def _tie(served: list[tuple[int, UUID]], waiting: list[tuple[int, UUID]]) -> Tie | None:
    """Who was alike at the last tub, if somebody alike went without. What was owed falls from tub to tub."""
    if not served:
        return None
    cut = served[-1][0]
    got = {uid for minus_owed, uid in served if cut - minus_owed <= ALIKE}
    missed = {uid for minus_owed, uid in waiting if abs(minus_owed - cut) <= ALIKE} - got
    return Tie(tuple(sorted(got | missed)), tuple(sorted(got))) if missed else None
