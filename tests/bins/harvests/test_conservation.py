"""Given + for the beds + given away + not fetched + lost + waiting = harvested, whatever people do, in any order.

The tally below is kept by hand from what was ordered and never reads the product; it shares a harvest out by its
own plain arithmetic.
"""

import datetime as dt
from collections import Counter
from dataclasses import dataclass, field
from uuid import UUID, uuid5

import pytest
from django.db import transaction
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bins.care.stages import open_batch
from bins.harvests import unclaimed
from bins.harvests.balance import Balance, balance
from bins.harvests.measured import Measured
from bins.harvests.outgoing import Gift, Loss, PickUp, record_gift, record_loss, record_pick_up, undo
from bins.harvests.parts import record_part, take_part_back
from bins.harvests.requests import Asked, ask
from bins.harvests.sharing import Sharing, finalise, preview
from bins.models import Batch, Harvest, Place, Share
from bins.records import Refused
from households.giving import Wish, choose_gift
from households.ledger import open_ledger
from households.models import Building, Person
from households.tenancy import inside
from tests.bins.harvests.harvested import DAY, TUB, bring, lot, resident, take_out
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded
BASE = UUID(int=0xC0FFEE)


@dataclass
class Dealt:
    """One share as the tally knows it."""

    due: int
    tubs: int
    given: int = 0
    unclaimed: int = 0
    gift: int = 0

    @property
    def went(self) -> int:
        return self.given + self.unclaimed + self.gift


@dataclass
class Heap:
    """One harvest as the tally knows it; amounts in millionths of a tub."""

    came_out: int
    part: set[UUID]
    asked: dict[UUID, int] | None = None  # tubs, where the lot goes by requests
    reserve: int = 0
    lost: int = 0
    until: dt.date | None = None
    split: UUID | None = None
    shares: dict[UUID, Dealt] = field(default_factory=dict)

    @property
    def waiting(self) -> int:
        return self.came_out - self.reserve - self.lost - sum(share.went for share in self.shares.values())

    @property
    def as_balance(self) -> Balance:
        return Balance(
            self.came_out,
            given=sum(share.given for share in self.shares.values()),
            reserve=self.reserve,
            unclaimed=sum(share.unclaimed for share in self.shares.values()),
            lost=self.lost,
            gift=sum(share.gift for share in self.shares.values()),
        )


def nearest(millionths: int) -> int:
    return (millionths + TUB // 2) // TUB


def evenly(amount: int, among: list[UUID]) -> Counter[UUID]:
    whole, over = divmod(amount, len(among)) if among else (0, 0)
    return Counter({uid: whole + (number < over) for number, uid in enumerate(sorted(among))})


def awards(amount: int, limits: dict[UUID, int]) -> Counter[UUID]:
    """Everybody alike up to what each asked for: the smallest requests first, the rest evenly."""
    found, left = Counter[UUID](), dict(limits)
    while left:
        smallest = min(left, key=lambda uid: (left[uid], uid))
        if left[smallest] * len(left) > amount:
            return found + evenly(amount, list(left))
        found[smallest] = left.pop(smallest)
        amount -= found[smallest]
    return found


@dataclass
class Tally:
    """All harvests by hand. `givers` leave their shares to the beds, `sharers` to their neighbours."""

    heaps: list[Heap] = field(default_factory=list)
    givers: set[UUID] = field(default_factory=set)
    sharers: set[UUID] = field(default_factory=set)

    def credit(self, uid: UUID) -> int:
        owed = 0
        for heap in self.heaps:
            if uid in heap.shares:
                share = heap.shares[uid]
                owed += share.due - (share.went if heap.waiting == 0 else share.tubs * TUB)
        return owed

    def deal(self, heap: Heap, split: UUID, until: dt.date, everybody: list[UUID]) -> None:
        amount, credits = heap.waiting, {uid: self.credit(uid) for uid in everybody}
        over = amount % TUB
        beds = over + nearest(max(0, amount * 20 // 100 - over)) * TUB
        tubs = (amount - beds) // TUB
        part = heap.part - self.sharers
        all_due = self.due(heap, tubs, part)
        due_in_all = all_due.total() // TUB
        given_up = min(due_in_all, nearest(sum(all_due[uid] for uid in part & self.givers)))
        gives = self.givers | self.sharers
        takers = [uid for uid in everybody if uid not in gives and (uid in heap.part or credits[uid])]
        due = self.due(heap, due_in_all - given_up, part - self.givers)
        got: Counter[UUID] = Counter()
        for _ in range(due.total() // TUB):
            may = [uid for uid in takers if heap.asked is None or got[uid] < heap.asked.get(uid, 0)]
            got[min(
                may,
                key=lambda uid: (-(max(0, due[uid] + credits[uid]) - got[uid] * TUB), -due[uid], uid),
            )] += 1  # fmt: skip
        heap.reserve += beds + (tubs - sum(got.values())) * TUB
        heap.split, heap.until = split, until
        heap.shares = {uid: Dealt(due[uid], got[uid]) for uid in everybody if uid in heap.part or got[uid]}

    def due(self, heap: Heap, tubs: int, among: set[UUID]) -> Counter[UUID]:
        if heap.asked is None:
            return evenly(tubs * TUB, list(among))
        return awards(tubs * TUB, {uid: heap.asked.get(uid, 0) * TUB for uid in among})

    def sweep(self, day: dt.date) -> None:
        for heap in self.heaps:
            if heap.until is None or heap.until >= day:
                continue
            split, there = heap.split, heap.waiting
            assert split is not None
            by_turn = sorted(heap.shares.items(), key=lambda each: (each[1].went > 0, uuid5(split, str(each[0]))))
            for _, share in by_turn:
                amount = min(there, share.tubs * TUB - share.went)
                share.unclaimed += amount
                there -= amount
            heap.reserve += there


class Story:
    """What people do, told to the product and to the tally alike."""

    def __init__(self, here: Building, cast: Cast) -> None:
        self.here, self.cast, self.tally, self.now, self.count = here, cast, Tally(), NOW, 0
        self.people: list[Person] = [resident(here, name) for name in "ABCDEF"]
        self.harvests: list[Harvest] = []
        self.undoable: list[tuple[UUID, Heap, Dealt | None, str, int]] = []

    def uid(self) -> UUID:
        self.count += 1
        return uuid5(BASE, str(self.count))

    def household(self, number: int) -> UUID:
        household = self.people[number % len(self.people)].household
        assert household is not None
        return household.uid

    def harvest(self, first: int, amount: int) -> None:
        """A lot that some of the households brought to comes out."""
        batch: Batch
        if self.harvests:
            place = Place.objects.within(self.here).get(drum=self.cast.drum, letter="A")
            with open_ledger(self.here) as ledger:
                batch = open_batch(ledger, place, uid=self.uid(), person=None, via="web", at=self.now)
        else:
            batch = lot(self.here, self.cast.drum)
        part = {first % 6, (first + amount) % 6, amount % 6}
        for number in sorted(part):
            bring(self.here, self.cast.drum, self.people[number], at=self.now)
        asked = self.ask(batch, first, amount) if amount % 5 < 2 else None
        self.now += 5 * DAY
        tenths, measured = amount % 4, amount % 3 * 2
        if measured:
            self.measure(batch, measured, is_wrong=first % 2 == 0)
        self.harvests.append(
            take_out(self.here, batch, amount % 23 + 1, f"0.{tenths}" if tenths else "0", now=self.now)
        )
        if first == 1:
            measured += 1
            self.measure(batch, 1, is_wrong=False)  # found after it was taken out
        came_out = (amount % 23 + 1 + measured) * TUB + tenths * TUB // 10
        self.tally.heaps.append(Heap(came_out, {self.household(number) for number in part}, asked))

    def ask(self, batch: Batch, first: int, amount: int) -> dict[UUID, int]:
        """A lot by request: some ask, one of them twice, for more or less than falls to them."""
        Batch.objects.within(self.here).filter(pk=batch.pk).update(sharing_kind="request")
        found = {}
        for number, tubs in ((first, 9), (first, amount % 7), (first + amount, 3), (amount + 3, amount % 4)):
            person = self.people[number % 6]
            assert person.household is not None
            told = Asked(self.uid(), batch.uid, tubs)
            ask(building=self.here, household=person.household, told=told, person=person, via="web", now=self.now)
            found[person.household.uid] = tubs
        return found

    def measure(self, batch: Batch, tubs: int, *, is_wrong: bool) -> None:
        """A part of the lot by itself; where it was measured wrongly it is taken back and measured again."""
        for told in [tubs + 5, tubs] if is_wrong else [tubs]:
            uid = self.uid()
            part = Measured(uid, None, None, told, 0, None, None, 0, more=True)
            record_part(building=self.here, batch_uid=batch.uid, told=part, person=None, via="web", now=self.now)
            if told != tubs:
                take_part_back(building=self.here, uid=uid, person=None, via="web", now=self.now)

    def share(self, first: int, amount: int) -> None:
        at = len(self.harvests) - 1 - (first == 0) * (amount % len(self.harvests))  # mostly the newest
        heap, harvest = self.tally.heaps[at], self.harvests[at]
        uid, today = self.uid(), self.here.local(self.now).date()
        if heap.split is None:
            self.tally.deal(heap, uid, today + 14 * DAY, sorted(self.household(n) for n in range(6)))
        fresh = Harvest.objects.within(self.here).select_related("batch__drum__site").get(pk=harvest.pk)
        told = Sharing(uid, preview(self.here, fresh, today).mark, today, "by the drums")
        finalise(building=self.here, harvest_uid=harvest.uid, told=told, person=None, via="web", now=self.now)

    def fetch(self, first: int, amount: int) -> None:
        heap = self.tally.heaps[len(self.harvests) - 1 - (first % 3 == 0) * (amount % len(self.harvests))]
        household = self.household(first)
        if heap.split is None or household not in heap.shares:
            return
        share = heap.shares[household]
        wanted, left = (amount % 3 + 1) * TUB, share.tubs * TUB - share.given - share.gift
        fits = wanted <= left and wanted <= heap.waiting + share.unclaimed
        uid = self.uid()
        told = PickUp(uid, uuid5(heap.split, str(household)), None, wanted)
        if not Share.objects.within(self.here).filter(uid=told.share_uid).exists():
            raise AssertionError("a share of the tally is missing in the books")
        if not self.does(
            fits, lambda: record_pick_up(building=self.here, told=told, person=None, via="web", now=self.now)
        ):
            return
        share.unclaimed = 0
        share.given += wanted
        self.undoable.append((uid, heap, share, "given", wanted))

    def give(self, first: int, amount: int) -> None:
        """A household gives away some of the share that waits for it, or all."""
        heap, person = self.tally.heaps[-1], self.people[first % 6]
        assert person.household is not None
        if heap.split is None or person.household.uid not in heap.shares:
            return
        share = heap.shares[person.household.uid]
        left = min(share.tubs * TUB - share.went, heap.waiting)
        wanted = amount % 4 * TUB // 2  # none told: all of it
        uid = self.uid()
        told = Gift(uid, uuid5(heap.split, str(person.household.uid)), "neighbours", wanted or None)
        if self.does(
            0 < (wanted or left) <= left,
            lambda: record_gift(
                building=self.here, household=person.household, told=told, person=person, via="web", now=self.now
            ),
        ):
            share.gift += wanted or left
            self.undoable.append((uid, heap, share, "gift", wanted or left))

    def lose(self, first: int, amount: int) -> None:
        at = first % len(self.harvests)
        heap, gone, uid = self.tally.heaps[at], amount * TUB // 4, self.uid()
        if not gone:
            return
        told = Loss(uid, None, "spoilt", gone, "")
        harvest = self.harvests[at].uid
        if self.does(
            gone <= heap.waiting,
            lambda: record_loss(
                building=self.here, harvest_uid=harvest, told=told, person=None, via="web", now=self.now
            ),
        ):
            heap.lost += gone
            self.undoable.append((uid, heap, None, "lost", gone))

    def take_back(self, first: int, amount: int) -> None:
        if not self.undoable:
            return
        uid, heap, share, kind, millionths = self.undoable.pop(first % len(self.undoable))
        for _ in range(2):  # twice is once
            undo(building=self.here, uid=uid, person=None, via="web", now=self.now)
        if share is None:
            heap.lost -= millionths
        else:
            setattr(share, kind, getattr(share, kind) - millionths)

    def opt(self, first: int, amount: int) -> None:
        person, wish = self.people[first % 6], [Wish.GARDEN, Wish.KEEP, Wish.NEIGHBOURS][amount % 3]
        assert person.household is not None
        choose_gift(building=self.here, household=person.household, wish=wish, by=person, now=self.now)
        for kind, those in ((Wish.GARDEN, self.tally.givers), (Wish.NEIGHBOURS, self.tally.sharers)):
            (those.add if wish is kind else those.discard)(person.household.uid)

    def sweep(self, first: int, amount: int) -> None:
        self.now += (amount % 16) * DAY
        day = self.here.local(self.now).date()
        at = unclaimed.as_of(self.here, day)
        left = unclaimed.decide(unclaimed.gather(self.here, day))
        unclaimed.apply(self.here, left, at, self.now, self.uid())
        self.tally.sweep(day)

    def does(self, fits: bool, act: object) -> bool:
        """Do what the tally says is possible, and see refused what is not."""
        assert callable(act)
        if fits:
            act()
        else:
            with pytest.raises(Refused):
                act()
        return fits

    def check(self) -> None:
        for heap, harvest in zip(self.tally.heaps, self.harvests, strict=True):
            stands = balance(self.here, harvest)
            assert stands == heap.as_balance
            assert stands.waiting == heap.waiting >= 0
            assert min(stands.given, stands.reserve, stands.gift, stands.unclaimed, stands.lost) >= 0
        assert self.shares_in_the_books() == {
            uuid5(heap.split, str(uid)): (share.due, share.tubs, share.went)
            for heap in self.tally.heaps
            if heap.split is not None
            for uid, share in heap.shares.items()
        }

    def shares_in_the_books(self) -> dict[UUID, tuple[int, int, int]]:
        """Due, tubs, and what went of each: the split and the sweep are right household by household."""
        rows = Share.objects.within(self.here).annotate(went=Sum("outgoings__millionths"))
        return {row.uid: (row.due_millionths, row.tubs, row.went or 0) for row in rows}


def some(act: str, most: int) -> st.SearchStrategy[list[tuple[str, int, int]]]:
    return st.lists(st.tuples(st.just(act), st.integers(0, 5), st.integers(0, 40)), max_size=most)


# A season: a lot comes out, some change their minds, some is lost, it is shared out, people come (or do not), and
# time passes. Shuffled steps alone would seldom get as far as a second split with credits to carry.
ANY = st.sampled_from(["fetch", "fetch", "fetch", "give", "give", "lose", "take_back", "opt", "share", "sweep"])
SEASON = st.tuples(
    st.tuples(st.just("harvest"), st.integers(0, 5), st.integers(0, 40)).map(lambda step: [step]),
    some("opt", 2),
    some("lose", 1),
    some("share", 2),
    st.lists(st.tuples(ANY, st.integers(0, 5), st.integers(0, 40)), max_size=6),
    some("sweep", 1),
).map(lambda parts: [step for part in parts for step in part])
STEPS = st.lists(SEASON, min_size=2, max_size=4).map(lambda seasons: [step for season in seasons for step in season])


@settings(
    max_examples=15,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(steps=STEPS)
def test_the_books_balance_whatever_happens(cast: Cast, steps: list[tuple[str, int, int]]) -> None:
    with inside(cast.building.uid) as here, transaction.atomic():
        story = Story(here, cast)
        for act, first, amount in steps:
            getattr(story, act)(first, amount)
            story.check()
        transaction.set_rollback(True)


def test_a_tally_that_is_off_by_a_millionth_is_seen(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        story = Story(here, cast)
        story.harvest(1, 13)
        story.check()
        story.tally.heaps[0].lost += 1
        with pytest.raises(AssertionError):
            story.check()
