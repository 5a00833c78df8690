"""The test's own books of one building: plain Python that knows nothing of the product's models.

It is told what people did, by the same words as the product, and shares out, sweeps and forgets by its own plain
arithmetic. Households, lots, drums and places are opaque uids to it. Amounts in grams, millilitres and millionths.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

ZONE = ZoneInfo("Europe/Berlin")
TUB = 1_000_000
TUB_ML = 10_000
PAIL_ML, G_PER_L, HALF_CUP_ML = 8_000, 450, 500
RESERVE_PERCENT = 20
LEAST_DROP_OFFS = 2
FETCH_DAYS = 14
DAY = dt.timedelta(days=1)
TOO_OLD = 60 * DAY
ORDER = ["filling", "composting", "curing", "ready"]


def month_of(at: dt.datetime) -> dt.date:
    return at.astimezone(ZONE).date().replace(day=1)


def counts_at(happened_at: dt.datetime, heard_at: dt.datetime) -> dt.datetime:
    """What is told of the future, or of over 60 days back, counts when it was told."""
    return heard_at if happened_at > heard_at or heard_at - happened_at > TOO_OLD else happened_at


@dataclass(frozen=True)
class Amount:
    """What was told of one pail: quarters of the 8 L pail or grams, and half cups of browns."""

    quarters: int | None
    weighed_g: int | None
    half_cups: int
    browns_in_pail: bool
    known: str

    @property
    def browns_ml(self) -> int:
        return self.half_cups * HALF_CUP_ML

    @property
    def grams(self) -> int:
        if self.weighed_g is not None:
            return self.weighed_g
        scraps_ml = (self.quarters or 0) * PAIL_ML // 4
        if self.browns_in_pail:
            scraps_ml = max(0, scraps_ml - self.browns_ml)
        return scraps_ml * G_PER_L // 1000


@dataclass(eq=False)
class Lot:
    uid: UUID
    drum: UUID
    place: UUID | None
    opened: dt.datetime
    stage: str = "filling"
    from_record: bool = False
    closed: dt.datetime | None = None
    ended: dt.datetime | None = None
    into: "Lot | None" = None
    stood: list[tuple[dt.datetime, UUID]] = field(default_factory=list)  # from when on where

    def __post_init__(self) -> None:
        assert self.place is not None
        self.stood.append((self.opened, self.place))

    @property
    def lives(self) -> bool:
        return self.stage in ORDER

    def was_open(self, at: dt.datetime) -> bool:
        return self.opened <= at and (self.closed is None or at < self.closed)

    def stood_in(self, at: dt.datetime) -> UUID | None:
        if at < self.opened or (self.ended is not None and at >= self.ended):
            return None
        return [place for since, place in self.stood if since <= at][-1]


@dataclass(eq=False)
class Pail:
    uid: UUID
    whose: UUID | None
    drum: UUID
    place: UUID | None  # kept only where it wasn't the open hatch
    lot: Lot | None
    at: dt.datetime
    heard: dt.datetime
    amount: Amount
    stands: bool = True


@dataclass(eq=False)
class Look:
    """A care visit."""

    drum: UUID
    at: dt.datetime
    turned: bool
    whose: UUID | None


@dataclass(eq=False)
class Sack:
    """Browns that somebody brought to the store."""

    uid: UUID
    whose: UUID | None
    at: dt.datetime
    stands: bool = True


@dataclass
class Dealt:
    """One household's share of a harvest."""

    due: int
    tubs: int
    given: int = 0
    unclaimed: int = 0

    @property
    def went(self) -> int:
        return self.given + self.unclaimed


@dataclass(eq=False)
class Heap:
    """What came out of one lot."""

    uid: UUID
    lot: Lot
    at: dt.datetime
    came_out: int
    reserve: int = 0
    lost: int = 0
    until: dt.date | None = None
    split: UUID | None = None
    shares: dict[UUID, Dealt] = field(default_factory=dict)

    @property
    def given(self) -> int:
        return sum(share.given for share in self.shares.values())

    @property
    def unclaimed(self) -> int:
        return sum(share.unclaimed for share in self.shares.values())

    @property
    def waiting(self) -> int:
        return self.came_out - self.reserve - self.lost - self.given - self.unclaimed

    @property
    def compost_ml(self) -> int:
        return self.came_out * TUB_ML // TUB


@dataclass
class Goodbye:
    """A household that moves out."""

    last_day: dt.date
    fetches: bool
    forgotten: bool = False


@dataclass(frozen=True)
class Figures:
    """A month: grams by how they are known, what stands, and each harvest with what had gone into it."""

    grams: dict[str, int]
    browns_ml: int
    drop_offs: int
    visits: int
    turns: int
    yields: list[tuple[dt.date, int, int]]


def nearest(millionths: int) -> int:
    return (millionths + TUB // 2) // TUB


def evenly(amount: int, among: Iterable[UUID]) -> Counter[UUID]:
    uids = sorted(among)
    whole, over = divmod(amount, len(uids)) if uids else (0, 0)
    return Counter({uid: whole + (number < over) for number, uid in enumerate(uids)})


@dataclass
class Tally:
    """All of it."""

    households: list[UUID]
    lots: list[Lot] = field(default_factory=list)
    pails: list[Pail] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    sacks: list[Sack] = field(default_factory=list)
    heaps: list[Heap] = field(default_factory=list)
    givers: set[UUID] = field(default_factory=set)
    goodbyes: dict[UUID, Goodbye] = field(default_factory=dict)
    due: set[tuple[dt.date, str]] = field(default_factory=set)  # promised: "1 sweep" or "2 tidy" of a day

    # What goes in

    def filling(self, drum: UUID, at: dt.datetime) -> Lot | None:
        """The lot that took scraps then. A close that was undone never was; then the one opened last was it."""
        opened = [lot for lot in self.lots if lot.drum == drum and lot.was_open(at)]
        return max(opened, key=lambda lot: lot.opened, default=None)

    def where(self, drum: UUID, place: UUID | None, at: dt.datetime) -> tuple[Lot | None, UUID | None]:
        filling = self.filling(drum, at)
        if place is None:
            return filling, None
        standing = next((lot for lot in self.lots if lot.stood_in(at) == place), None)
        return (filling, None) if standing is not None and standing is filling else (standing, place)

    def bring(
        self, uid: UUID, whose: UUID | None, drum: UUID, place: UUID | None, at: dt.datetime, heard: dt.datetime,
        amount: Amount,
    ) -> Pail:  # fmt: skip
        lot, kept = self.where(drum, place, at)
        self.pails.append(Pail(uid, whose, drum, kept, lot, at, heard, amount))
        return self.pails[-1]

    def correct(self, old: Pail, uid: UUID, heard: dt.datetime, amount: Amount) -> Pail:
        old.stands = False
        return self.bring(uid, old.whose, old.drum, old.place, old.at, heard, amount)

    # What becomes of lots

    def now_open(self, drum: UUID) -> Lot | None:
        return next((lot for lot in self.lots if lot.drum == drum and lot.stage == "filling"), None)

    def lot_in(self, place: UUID) -> Lot | None:
        return next((lot for lot in self.lots if lot.lives and lot.place == place), None)

    def go(self, lot: Lot, stage: str, at: dt.datetime) -> None:
        lot.stage = stage
        if stage == "filling":
            lot.closed = None
        elif lot.closed is None:
            lot.closed = at
        if stage not in ORDER:
            lot.place, lot.ended = None, at

    def move(self, lot: Lot, place: UUID, at: dt.datetime) -> None:
        lot.place = place
        lot.stood.append((at, place))

    def merge(self, lot: Lot, into: Lot, at: dt.datetime) -> None:
        younger = min(lot.stage, into.stage, key=ORDER.index)
        if into.stage != "filling":
            self.go(into, max("composting", younger, key=ORDER.index), at)
        lot.into = into
        self.go(lot, "merged", at)

    def family(self, lot: Lot) -> list[Lot]:
        found = [lot]
        for one in found:
            found += [part for part in self.lots if part.into is one]
        return found

    def holds_scraps(self, lot: Lot) -> bool:
        parts = self.family(lot)
        return any(pail.stands and pail.lot in parts for pail in self.pails)

    def grams_of(self, lots: list[Lot]) -> int:
        return sum(pail.amount.grams for pail in self.pails if pail.stands and pail.lot in lots)

    # What comes out

    def took_part(self, lot: Lot) -> set[UUID]:
        parts = self.family(lot)
        brought = Counter(pail.whose for pail in self.pails if pail.stands and pail.whose and pail.lot in parts)
        cared = {
            look.whose
            for look in self.looks
            for part in parts
            if look.whose and not part.from_record and look.drum == part.drum
            and part.opened <= look.at and (part.ended is None or look.at <= part.ended)
        }  # fmt: skip
        sacks = {
            sack.whose
            for sack in self.sacks
            if sack.whose and sack.stands and any(self.takes(part, sack) for part in parts if not part.from_record)
        }
        return {uid for uid, times in brought.items() if uid and times >= LEAST_DROP_OFFS} | cared | sacks

    def takes(self, lot: Lot, sack: Sack) -> bool:
        """Browns are for the lot that a drum fills just then; for the next one, while it fills none."""
        now = self.filling(lot.drum, sack.at)
        if now is None:
            later = [one for one in self.lots if one.drum == lot.drum and one.opened > sack.at]
            now = min(later, key=lambda one: one.opened, default=None)
        return now is lot

    def credit(self, uid: UUID) -> int:
        owed = 0
        for heap in self.heaps:
            if uid in heap.shares:
                share = heap.shares[uid]
                owed += share.due - (share.went if heap.waiting == 0 else share.tubs * TUB)
        return owed

    def is_forgotten(self, uid: UUID) -> bool:
        return uid in self.goodbyes and self.goodbyes[uid].forgotten

    def lives_here(self, uid: UUID, day: dt.date) -> bool:
        """Until its last day what is owed to a household is its own."""
        return uid not in self.goodbyes or day <= self.goodbyes[uid].last_day

    def deal(self, heap: Heap, split: UUID, today: dt.date) -> None:
        """Share a heap out: a fifth to the beds, the rest evenly, whole tubs by what is owed most."""
        part = self.took_part(heap.lot)
        credits = {uid: self.credit(uid) for uid in self.households if not self.is_forgotten(uid)}
        amount, over = heap.waiting, heap.waiting % TUB
        beds = over + nearest(max(0, amount * RESERVE_PERCENT // 100 - over)) * TUB
        tubs = (amount - beds) // TUB
        due_in_all = tubs if part else 0
        all_due = evenly(tubs * TUB, part)
        given_up = min(due_in_all, nearest(sum(all_due[uid] for uid in part & self.givers)))
        takers = [
            uid for uid in sorted(credits)
            if uid not in self.givers and (uid in part or (credits[uid] and self.lives_here(uid, today)))
        ]  # fmt: skip
        due = evenly((due_in_all - given_up) * TUB, part - self.givers)
        got: Counter[UUID] = Counter()
        for _ in range(due_in_all - given_up if part - self.givers else 0):
            key = {uid: (-(max(0, due[uid] + credits[uid]) - got[uid] * TUB), -due[uid], uid) for uid in takers}
            got[min(takers, key=key.__getitem__)] += 1
        heap.reserve += beds + (tubs - sum(got.values())) * TUB
        heap.split, heap.until = split, today + FETCH_DAYS * DAY
        heap.shares = {uid: Dealt(due[uid], got[uid]) for uid in sorted(part | set(got))}
        if got:
            self.due.add((heap.until + DAY, "1 sweep"))

    def sweep(self, day: dt.date) -> None:
        for heap in self.heaps:
            if heap.until is None or heap.until >= day:
                continue
            there = heap.waiting
            assert heap.split is not None
            split = heap.split
            by_turn = sorted(heap.shares.items(), key=lambda one: (one[1].went > 0, uuid5(split, str(one[0]))))
            for _, share in by_turn:
                left = min(there, share.tubs * TUB - share.went)
                share.unclaimed += left
                there -= left
            heap.reserve += there

    def waits_again(self, heap: Heap, today: dt.date) -> None:
        """After a pick-up, or one taken back: past the last day the next night looks again."""
        if heap.until is not None and today > heap.until:
            self.due.add((today + DAY, "1 sweep"))

    # Who goes

    def waiting_for(self, uid: UUID) -> list[tuple[Heap, int]]:
        found = []
        for heap in self.heaps:
            if uid in heap.shares:
                there = min(heap.shares[uid].tubs * TUB - heap.shares[uid].went, heap.waiting)
                if there > 0:
                    found.append((heap, there))
        return found

    def has_claims(self, uid: UUID) -> bool:
        shared = {heap.lot for heap in self.heaps if heap.split is not None}
        for pail in self.pails:
            if not pail.stands or pail.whose != uid or pail.lot is None:
                continue
            lot = pail.lot
            while lot.into is not None:
                lot = lot.into
            if lot.lives or (lot.stage == "harvested" and lot not in shared):
                return True
        return bool(self.waiting_for(uid))

    def leave(self, uid: UUID, last_day: dt.date, *, fetches: bool, today: dt.date) -> None:
        goodbye = self.goodbyes[uid] = Goodbye(last_day, fetches)
        if not fetches:
            self.givers.add(uid)
            for heap, there in self.waiting_for(uid):
                heap.shares[uid].unclaimed += there
        if not self.settle(uid, today):
            self.due.add((max(today, goodbye.last_day) + DAY, "2 tidy"))

    def settle(self, uid: UUID, today: dt.date) -> bool:
        goodbye = self.goodbyes[uid]
        is_last = goodbye.last_day == today and goodbye.fetches  # all that is owed is its own until the day is over
        waits = goodbye.fetches and not goodbye.forgotten and self.has_claims(uid)
        if goodbye.last_day > today or is_last or waits:
            return False
        goodbye.forgotten = True
        for row in (*self.pails, *self.looks, *self.sacks):
            if row.whose == uid:
                row.whose = None
        return True

    def night(self, today: dt.date) -> None:
        """All that was promised for days up to this one, in order."""
        for promised in sorted(one for one in self.due if one[0] <= today):
            self.due.discard(promised)
            day, what = promised
            if what == "1 sweep":
                self.sweep(day)
                continue
            is_over = [self.settle(uid, today) for uid in self.goodbyes]
            if not all(is_over):
                self.due.add((today + DAY, "2 tidy"))

    # What is told of it

    def figures(self, month: dt.date) -> Figures:
        stands = [pail for pail in self.pails if pail.stands and month_of(pail.at) == month]
        looks = [look for look in self.looks if month_of(look.at) == month]
        grams: Counter[str] = Counter()
        for pail in stands:
            grams[pail.amount.known] += pail.amount.grams
        return Figures(
            grams={known: grams[known] for known in {pail.amount.known for pail in stands}},
            browns_ml=sum(pail.amount.browns_ml for pail in stands),
            drop_offs=len(stands),
            visits=len(looks),
            turns=sum(look.turned for look in looks),
            yields=[
                (heap.at.astimezone(ZONE).date(), heap.compost_ml, self.grams_of(self.family(heap.lot)))
                for heap in self.heaps
                if month_of(heap.at) == month
            ],
        )

    def months(self) -> list[dt.date]:
        rows = (*self.pails, *self.looks, *self.heaps)
        return sorted({month_of(row.at) for row in rows})
