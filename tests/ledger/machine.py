"""Whatever people do to one building, in any order: told to the product's services and to the tally alike.

After each step the books say what the tally says. What the tally says can't be done is refused, and changes nothing.
"""

import datetime as dt
from collections.abc import Callable
from contextlib import ExitStack
from typing import Any, TypeVar
from uuid import UUID, uuid5

import pytest
from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from bins.care.closing import Closing, Opening, close_now, open_hatch
from bins.care.discarding import Discard, discard
from bins.care.merging import Merge, merge
from bins.care.moving import Move, move
from bins.care.stepping import Step, say_finished, step_back
from bins.care.visit import BatchReading, CareVisit, record_visit
from bins.decisions.settle import confirm, decline
from bins.harvests.harvest import record_harvest
from bins.harvests.measured import Measured
from bins.harvests.outgoing import Loss, PickUp, record_loss, record_pick_up, undo
from bins.harvests.sharing import Sharing, finalise, preview
from bins.intake.correcting import correct_drop_off
from bins.intake.dropoff import DropOff, record_drop_off, undo_drop_off
from bins.mixing.bringing import Brought, bring_browns, take_browns_back
from bins.models import Batch, BrownsStock, Contribution, Decision, Harvest
from bins.people.moving_out import Leaving, move_out
from bins.records import Refused
from coordinator.jobs.run import run_due
from households.giving import Wish, choose_gift
from households.ledger import UidReused
from households.models import Departure, Person
from households.tenancy import inside

from .house import BEGINS, FOUNDED, House
from .reading import check_books, check_export
from .tally import DAY, ORDER, TUB, ZONE, Amount, Dealt, Heap, Look, Lot, Pail, Sack, Tally, counts_at, month_of

BASE = UUID(int=0x7A11)
A_WHILE = dt.timedelta(minutes=7)
AT_NIGHT = dt.time(4, 30)  # when a night's work is done
LIKE_DAYS = dt.timedelta(days=14)  # a drop-off may be put right for so long
Thing = TypeVar("Thing")

NUMBER = st.integers(0, 11)
AMOUNT = st.one_of(
    st.builds(
        Amount, st.integers(1, 8), st.none(), st.integers(0, 6), st.booleans(), st.sampled_from(["counted", "guessed"])
    ),
    st.builds(Amount, st.none(), st.integers(1, 9000), st.integers(0, 6), st.just(False), st.just("weighed")),
)  # fmt: skip
PART = st.sampled_from([0, 200_000, 500_000, 750_000])
MUCH = st.sampled_from(["half a tub", "all", "too much"])
# When something happened, seen from the moment it is told: just now, days ago, tomorrow, or near a month's beginning.
WHEN = st.one_of(
    st.just(("now", 0)),
    st.tuples(st.just("days ago"), st.integers(1, 64)),
    st.tuples(st.just("beside midnight"), st.integers(-100, 100)),
    st.just(("tomorrow", 0)),
)


def one_of(things: list[Thing], number: int) -> Thing:
    return things[number % len(things)]


class Household(RuleBasedStateMachine):
    """One run: 30 things that people do."""

    def __init__(self, house: House) -> None:
        super().__init__()
        self.house, self.now, self.count = house, BEGINS, 0
        self.touched: set[dt.date] = set()
        self.people: dict[UUID, Person] = {}
        for person in house.people:
            assert person.household is not None
            self.people[person.household.uid] = person
        self.tally = Tally(sorted(self.people))
        for batch in house.lots:
            self.tally.lots.append(
                Lot(
                    batch.uid, batch.drum.uid, batch.place.uid, batch.opened_at, batch.stage, batch.from_record,
                    batch.closed_at,
                )
            )  # fmt: skip
        self.tally.looks.append(Look(house.drums[0].uid, FOUNDED, turned=False, whose=None))  # its level was told
        self.bins: list[UUID] = []
        self.told: list[tuple[DropOff, UUID, Person, Pail]] = []
        self.undoable: list[tuple[UUID, Heap, Dealt | None, int]] = []
        self.stack = ExitStack()
        self.here = self.stack.enter_context(inside(house.uid))
        self.stack.enter_context(transaction.atomic())
        self.stack.callback(transaction.set_rollback, True)

    def teardown(self) -> None:
        try:
            if not transaction.get_connection().needs_rollback:
                check_books(self.here, self.tally, self.tally.months())
                check_export(self.here, self.tally)
        finally:
            self.stack.close()

    @invariant()
    def the_books_say_what_the_tally_says(self) -> None:
        check_books(self.here, self.tally, sorted(self.touched))
        self.touched.clear()

    # Short hands

    def uid(self) -> UUID:
        self.now += A_WHILE
        self.count += 1
        return uuid5(BASE, str(self.count))

    @property
    def today(self) -> dt.date:
        return self.now.astimezone(ZONE).date()

    @property
    def by(self) -> dict[str, Any]:
        return {"building": self.here, "person": self.house.caretaker, "via": "web", "now": self.now}

    def does(self, fits: bool, act: Callable[[], object]) -> bool:
        """Do what the tally says is possible, and see refused what is not."""
        if fits:
            act()
        else:
            with pytest.raises(Refused):
                act()
        return fits

    def at(self, when: tuple[str, int]) -> dt.datetime:
        kind, number = when
        if kind == "days ago":
            return self.now - number * DAY
        if kind == "tomorrow":
            return self.now + DAY
        if kind == "beside midnight":
            first = dt.datetime.combine(self.today.replace(day=1), dt.time(), tzinfo=ZONE).astimezone(dt.UTC)
            return first + dt.timedelta(minutes=number)
        return self.now

    @property
    def living(self) -> list[UUID]:
        return [uid for uid in self.tally.households if uid not in self.tally.goodbyes]

    @property
    def lots(self) -> list[Lot]:
        return [lot for lot in self.tally.lots if lot.lives]

    @property
    def drums(self) -> list[UUID]:
        return [drum.uid for drum in self.house.drums]

    @property
    def hatches(self) -> dict[UUID, UUID]:
        """Each hatch and its drum, in order."""
        drums = {drum.pk: drum.uid for drum in self.house.drums}
        return {place.uid: drums[place.drum_id] for place in self.house.hatches if place.drum_id is not None}

    def learn(self, place: UUID, drum: UUID) -> None:
        """A lot was opened in a hatch: its uid is read there, nothing else."""
        uid = Batch.objects.within(self.here).get(place__uid=place).uid
        self.tally.lots.append(Lot(uid, drum, place, self.now))

    def dropoff(self, uid: UUID, drum: UUID, at: dt.datetime | None, amount: Amount, place: UUID | None) -> DropOff:
        return DropOff(
            uid, drum, at, amount.quarters, amount.weighed_g, amount.half_cups, amount.known,
            browns_in_pail=amount.browns_in_pail, place_uid=place,
        )  # fmt: skip

    def log(
        self, whose: int, writer: int, drum: int, when: tuple[str, int], amount: Amount, place: UUID | None = None
    ) -> None:
        household, written_by = one_of(self.living, whose), self.people[one_of(self.living, writer)]
        uid = self.uid()
        at = self.at(when)
        told = self.dropoff(uid, one_of(self.drums, drum), at, amount, place)
        self.record(told, household, written_by)
        pail = self.tally.bring(uid, household, told.drum_uid, place, counts_at(at, self.now), self.now, amount)
        self.told.append((told, household, written_by, pail))
        self.touched.add(month_of(pail.at))

    def record(self, told: DropOff, household: UUID, person: Person) -> bool:
        return record_drop_off(
            building=self.here, told=told, household=self.people[household].household, person=person, via="web",
            now=self.now,
        ).is_new  # fmt: skip

    # What residents do

    @initialize(whose=NUMBER, amount=AMOUNT)
    def a_first_week(self, whose: int, amount: Amount) -> None:
        """Each run has somebody with a claim, or few would get as far as a share."""
        for step in (whose, whose, whose + 1, whose + 1):
            self.log(step, step, 0, ("now", 0), amount)

    @precondition(lambda self: self.living)
    @rule(whose=NUMBER, drum=NUMBER, times=st.integers(1, 3), when=WHEN, amount=AMOUNT)
    def bring(self, whose: int, drum: int, times: int, when: tuple[str, int], amount: Amount) -> None:
        for _ in range(times):
            self.log(whose, whose, drum, when, amount)

    @precondition(lambda self: self.living)
    @rule(whose=NUMBER, writer=NUMBER, drum=NUMBER, when=WHEN, amount=AMOUNT)
    def write_down_for_a_neighbour(
        self, whose: int, writer: int, drum: int, when: tuple[str, int], amount: Amount
    ) -> None:
        self.log(whose, writer, drum, when, amount)

    @precondition(lambda self: self.living)
    @rule(whose=NUMBER, place=NUMBER, when=WHEN, amount=AMOUNT)
    def wrong_hatch(self, whose: int, place: int, when: tuple[str, int], amount: Amount) -> None:
        hatch, _drum = one_of(list(self.hatches.items()), place)
        self.log(whose, whose, place % 4 // 2, when, amount, hatch)

    @precondition(lambda self: self.told)
    @rule(which=NUMBER, other=AMOUNT)
    def send_again(self, which: int, other: Amount) -> None:
        told, household, person, pail = one_of(self.told, which)
        self.uid()
        if household not in self.living:
            return
        assert not self.record(told, household, person)
        if other != pail.amount:
            with pytest.raises(UidReused):
                self.record(
                    self.dropoff(told.uid, told.drum_uid, told.happened_at, other, told.place_uid), household, person
                )

    @precondition(lambda self: self.tally.pails)
    @rule(which=NUMBER)
    def take_back(self, which: int) -> None:
        pail = one_of(self.tally.pails[-12:], which)
        self.uid()
        row = Contribution.objects.within(self.here).get(uid=pail.uid)
        for _ in range(2):  # twice is once
            undo_drop_off(row=row, **self.by)
        pail.stands = False
        self.touched.add(month_of(pail.at))

    @precondition(lambda self: self.tally.pails)
    @rule(which=NUMBER, amount=AMOUNT)
    def put_right(self, which: int, amount: Amount) -> None:
        pail, uid = one_of(self.tally.pails[-12:], which), self.uid()
        row = Contribution.objects.within(self.here).select_related("drum", "pail", "place").get(uid=pail.uid)
        told = self.dropoff(uid, pail.drum, None, amount, None)
        fits = pail.stands and self.now - pail.heard <= LIKE_DAYS
        if self.does(fits, lambda: correct_drop_off(row=row, told=told, **self.by)):
            self.tally.correct(pail, uid, self.now, amount)
            self.touched.add(month_of(pail.at))

    @precondition(lambda self: self.living)
    @rule(whose=NUMBER, days_ago=st.integers(0, 40), litres=st.integers(1, 60))
    def bring_a_sack_of_browns(self, whose: int, days_ago: int, litres: int) -> None:
        household, uid = one_of(self.living, whose), self.uid()
        day = self.today - days_ago * DAY
        told = Brought(uid, self.house.site, day if days_ago else None, "leaves", litres * 1000)
        person = self.people[household]
        for is_new in (True, False):  # sent twice, it stands once
            made = bring_browns(told=told, household=person.household, **self.by | {"person": person})
            assert made.is_new == is_new
        at = dt.datetime.combine(day, dt.time(12), tzinfo=ZONE).astimezone(dt.UTC) if days_ago else self.now
        self.tally.sacks.append(Sack(uid, household, at))

    @precondition(lambda self: any(sack.stands and sack.whose in self.living for sack in self.tally.sacks))
    @rule(which=NUMBER)
    def it_was_no_sack(self, which: int) -> None:
        mine = [sack for sack in self.tally.sacks if sack.stands and sack.whose in self.living]
        self.uid()
        sack = one_of(mine, which)
        assert sack.whose is not None
        row = BrownsStock.objects.within(self.here).get(uid=sack.uid)
        person = self.people[sack.whose]
        fits = self.now - row.heard_at <= LIKE_DAYS
        if self.does(
            fits, lambda: take_browns_back(uid=sack.uid, household=person.household, **self.by | {"person": person})
        ):
            sack.stands = False

    @precondition(lambda self: self.living)
    @rule(whose=NUMBER, gives=st.booleans())
    def choose_the_beds(self, whose: int, gives: bool) -> None:
        uid = one_of(self.living, whose)
        person = self.people[uid]
        assert person.household is not None
        wish = Wish.GARDEN if gives else Wish.KEEP
        choose_gift(building=self.here, household=person.household, wish=wish, by=person, now=self.now)
        (self.tally.givers.add if gives else self.tally.givers.discard)(uid)

    # What happens at the drums

    @rule(
        who=st.integers(-2, 5), drum=NUMBER, turned=st.booleans(), when=WHEN,
        level=st.sampled_from(["", "quarter", "half", "full", "full"]),
        squeeze=st.sampled_from(["", "dry", "right", "wet"]), warm=st.one_of(st.none(), st.integers(150, 600)),
    )  # fmt: skip
    def visit(
        self, who: int, drum: int, turned: bool, when: tuple[str, int], level: str, squeeze: str, warm: int | None
    ) -> None:
        resident = one_of(self.living, who) if who >= 0 and self.living else None
        uid = self.uid()
        at = counts_at(self.at(when), self.now)
        theirs = [
            lot for lot in self.tally.lots
            if lot.drum == one_of(self.drums, drum) and lot.opened <= at and (lot.ended is None or at < lot.ended)
        ]  # fmt: skip
        told = CareVisit(
            uid, one_of(self.drums, drum), self.at(when), turned, level, "nothing", None if warm is None else 150,
            tuple(BatchReading(lot.uid, warm, squeeze, "") for lot in theirs if warm or squeeze),
        )  # fmt: skip
        person = self.people[resident] if resident else self.house.caretaker
        record_visit(told=told, **self.by | {"person": person})
        self.tally.looks.append(Look(told.drum_uid, at, turned, resident))
        self.touched.add(month_of(at))

    @precondition(lambda self: any(lot.stage == "filling" for lot in self.lots))
    @rule(which=NUMBER)
    def close(self, which: int) -> None:
        lot, uid = one_of([lot for lot in self.lots if lot.stage == "filling"], which), self.uid()
        close_now(told=Closing(uid, lot.uid), **self.by)
        other = [hatch for hatch, drum in self.hatches.items() if drum == lot.drum and self.tally.lot_in(hatch) is None]
        self.tally.go(lot, "composting", self.now)
        for hatch in other:  # of two at most one is empty
            self.learn(hatch, lot.drum)

    @rule(which=NUMBER)
    def hang_the_tag(self, which: int) -> None:
        hatch, drum = one_of(list(self.hatches.items()), which)
        uid = self.uid()
        fits = self.tally.lot_in(hatch) is None and self.tally.now_open(drum) is None
        if self.does(fits, lambda: open_hatch(told=Opening(uid, hatch), **self.by)):
            self.learn(hatch, drum)

    @rule(which=NUMBER, says_yes=st.booleans(), takes_out=st.booleans())
    def settle(self, which: int, says_yes: bool, takes_out: bool) -> None:
        """What a person reads on the list and says yes to is what must have happened."""
        asked = list(
            Decision.objects.within(self.here)
            .proposed()
            .select_related("batch", "next_place")
            .order_by("made_at", "uid")
        )
        if not asked:
            return
        seen, _uid = one_of(asked, which), self.uid()
        if not says_yes:
            decline(building=self.here, uid=seen.uid, person=self.house.caretaker, now=self.now)
            return
        is_question = seen.reason == "fresh_while_ready"
        choice = ("take_out" if takes_out else "back") if is_question else ""
        if not confirm(uid=seen.uid, choice=choice, **self.by).is_applied:
            return
        lot = next(lot for lot in self.tally.lots if lot.uid == seen.batch.uid)
        if "turns" in seen.figures and lot.place in self.hatches:  # yes to "turn it" means that somebody has
            self.tally.looks.append(Look(self.hatches[lot.place], self.now, True, None))
            self.touched.add(month_of(self.now))
        stage = "composting" if choice == "back" else seen.to_stage
        if stage != lot.stage:
            self.tally.go(lot, stage, self.now)
        if seen.next_place is not None:
            self.learn(seen.next_place.uid, lot.drum)

    @precondition(lambda self: self.lots)
    @rule(which=NUMBER)
    def say_it_is_finished(self, which: int) -> None:
        resting = [lot for lot in self.lots if lot.stage == "curing"]
        lot, uid = one_of(resting or self.lots, which), self.uid()
        if self.does(
            lot.stage == "curing", lambda: say_finished(told=Step(uid, lot.uid, "it smells of forest"), **self.by)
        ):
            self.tally.go(lot, "ready", self.now)

    @precondition(lambda self: self.lots)
    @rule(which=NUMBER)
    def step_back(self, which: int) -> None:
        lot, uid = one_of(self.lots, which), self.uid()
        following = self.tally.now_open(lot.drum)
        fits = lot.stage in ("curing", "ready") or (
            lot.stage == "composting"
            and lot.place is not None and self.hatches.get(lot.place) == lot.drum
            and (following is None or not self.tally.holds_scraps(following))
        )  # fmt: skip
        if not self.does(fits, lambda: step_back(told=Step(uid, lot.uid, "a slip"), **self.by)):
            return
        if lot.stage == "composting" and following is not None:
            following.into, following.closed = lot, following.opened  # it was never really open
            self.tally.go(following, "merged", self.now)
        self.tally.go(lot, ORDER[ORDER.index(lot.stage) - 1], self.now)

    @precondition(lambda self: self.lots)
    @rule(which=NUMBER, to=NUMBER)
    def move(self, which: int, to: int) -> None:
        lot, uid = one_of(self.lots, which), self.uid()
        places: list[UUID | None] = [*self.hatches, *self.bins, None]
        place = one_of(places, to)
        if place is None and len(self.bins) > 2:
            return
        told = Move(uid, lot.uid, place, 200 if place is None else None)
        fits = (place is None or self.tally.lot_in(place) is None) and (
            lot.stage != "filling" or (place is not None and self.hatches.get(place) == lot.drum)
        )
        if not self.does(fits, lambda: move(told=told, **self.by)):
            return
        if place is None:
            place = Batch.objects.within(self.here).select_related("place").get(uid=lot.uid).place.uid
            self.bins.append(place)
        self.tally.move(lot, place, self.now)

    @precondition(lambda self: len(self.lots) > 1)
    @rule(which=NUMBER, other=NUMBER)
    def merge(self, which: int, other: int) -> None:
        lot = one_of(self.lots, which)
        mates = [one for one in self.lots if one.drum == lot.drum and one is not lot] or self.lots
        into, uid = one_of(mates, other), self.uid()
        fits = into is not lot and into.drum == lot.drum
        if self.does(fits, lambda: merge(told=Merge(uid, lot.uid, into.uid), **self.by)):
            self.tally.merge(lot, into, self.now)

    @precondition(lambda self: len(self.lots) > 1)
    @rule(which=NUMBER)
    def throw_out(self, which: int) -> None:
        lot, uid = one_of(self.lots, which), self.uid()
        discard(told=Discard(uid, lot.uid, "it was glass", 40, "the brown bin"), **self.by)
        self.tally.go(lot, "discarded", self.now)

    # What comes out

    @precondition(lambda self: self.lots)
    @rule(which=NUMBER, tubs=st.integers(1, 24), part=PART)
    def take_out(self, which: int, tubs: int, part: int) -> None:
        ripe = [lot for lot in self.lots if self.tally.took_part(lot)] or self.lots
        self.empty(one_of(ripe, which), tubs, part)

    @precondition(lambda self: self.lots and self.living)
    @rule(which=NUMBER, whose=NUMBER, joined=st.booleans(), tubs=st.integers(3, 12), part=PART, much=MUCH)
    def harvest_day(self, which: int, whose: int, joined: bool, tubs: int, part: int, much: str) -> None:
        """Last pails, two lots put together, measured, shared out, fetched: one after the other in an afternoon."""
        drum = which % 2
        for step in (whose, whose, whose + 1, whose + 1):
            self.log(step, step, drum, ("now", 0), Amount(4, None, 0, False, "counted"))
        lot = next(
            (lot for lot in self.lots if lot.drum == self.drums[drum] and self.tally.took_part(lot)), self.lots[0]
        )
        mates = [one for one in self.lots if one.drum == lot.drum and one is not lot]
        if joined and mates:
            uid = self.uid()
            merge(told=Merge(uid, lot.uid, mates[0].uid), **self.by)
            self.tally.merge(lot, mates[0], self.now)
            lot = mates[0]
        heap = self.empty(lot, tubs, part)
        self.split(heap)
        for _ in range(2):
            self.carry(heap, whose, much)
        self.goes(heap, 9)  # more than is there: refused each time

    def empty(self, lot: Lot, tubs: int, part: int) -> Heap:
        uid = self.uid()
        told = Measured(uid, None, None, tubs, part, None, None, 0)
        record_harvest(batch_uid=lot.uid, told=told, **self.by)
        self.tally.go(lot, "harvested", self.now)
        self.tally.heaps.append(Heap(uid, lot, self.now, tubs * TUB + part))
        self.touched.add(month_of(self.now))
        return self.tally.heaps[-1]

    @precondition(lambda self: self.tally.heaps)
    @rule(which=NUMBER, tubs=st.integers(1, 24))
    def measure_again(self, which: int, tubs: int) -> None:
        at, uid = which % len(self.tally.heaps), self.uid()
        heap = self.tally.heaps[at]
        told = Measured(uid, heap.uid, None, tubs, 0, None, None, 0)
        fits = heap.split is None and heap.waiting == heap.came_out
        if self.does(fits, lambda: record_harvest(batch_uid=heap.lot.uid, told=told, **self.by)):
            self.tally.heaps[at] = Heap(uid, heap.lot, self.now, tubs * TUB)
            self.undoable = [one for one in self.undoable if one[1] is not heap]
            self.touched |= {month_of(heap.at), month_of(self.now)}

    @precondition(lambda self: self.tally.heaps)
    @rule(which=NUMBER)
    def share_out(self, which: int) -> None:
        unshared = [heap for heap in self.tally.heaps if heap.split is None]
        self.split(one_of(unshared or self.tally.heaps, which))

    def split(self, heap: Heap) -> None:
        uid = self.uid()
        fresh = Harvest.objects.within(self.here).select_related("batch__drum__site").get(uid=heap.uid)
        told = Sharing(uid, preview(self.here, fresh, self.today).mark, self.today, "by the drums")
        made = finalise(harvest_uid=heap.uid, told=told, **self.by)
        assert made.is_new == (heap.split is None)
        if made.is_new:
            self.tally.deal(heap, uid, self.today)

    @precondition(lambda self: any(heap.shares for heap in self.tally.heaps))
    @rule(which=NUMBER, whose=NUMBER, much=MUCH)
    def fetch(self, which: int, whose: int, much: str) -> None:
        self.carry(one_of([heap for heap in self.tally.heaps if heap.shares], which), whose, much)

    def carry(self, heap: Heap, whose: int, much: str) -> None:
        """Somebody fetches half a tub, a whole share, or more than that; a second time that is refused."""
        served = [uid for uid, share in heap.shares.items() if share.tubs]
        if not served:
            return
        household, uid = one_of(served, whose), self.uid()
        share = heap.shares[household]
        wanted = {"half a tub": TUB // 2, "all": share.tubs * TUB, "too much": share.tubs * TUB + TUB}[much]
        assert heap.split is not None
        told = PickUp(uid, uuid5(heap.split, str(household)), None, wanted)
        fits = wanted <= share.tubs * TUB - share.given and wanted <= heap.waiting + share.unclaimed
        if self.does(fits, lambda: record_pick_up(told=told, **self.by)):
            share.unclaimed = 0
            share.given += wanted
            self.undoable.append((uid, heap, share, wanted))
            self.tally.waits_again(heap, self.today)

    @precondition(lambda self: self.tally.heaps)
    @rule(which=NUMBER, eighths=st.integers(1, 12))
    def lose(self, which: int, eighths: int) -> None:
        """Up to what is there, or (from nine eighths on) more than that."""
        self.goes(one_of(self.tally.heaps, which), eighths)

    def goes(self, heap: Heap, eighths: int) -> None:
        uid = self.uid()
        gone = max(1000, heap.waiting * eighths // 8 // 1000 * 1000)
        told = Loss(uid, None, "spoilt", gone, "")
        if self.does(gone <= heap.waiting, lambda: record_loss(harvest_uid=heap.uid, told=told, **self.by)):
            heap.lost += gone
            self.undoable.append((uid, heap, None, gone))

    @precondition(lambda self: self.undoable)
    @rule(which=NUMBER)
    def bring_back(self, which: int) -> None:
        """A pick-up or a loss was none."""
        self.uid()
        uid, heap, share, amount = self.undoable.pop(which % len(self.undoable))
        for _ in range(2):  # twice is once
            undo(uid=uid, **self.by)
        if share is None:
            heap.lost -= amount
        else:
            share.given -= amount
        self.tally.waits_again(heap, self.today)

    # Who goes, and how time goes by

    @precondition(lambda self: len(self.living) > 2)
    @rule(whose=NUMBER, day=st.integers(-3, 6), share=st.sampled_from(["", "garden", "pick_up"]))
    def move_out(self, whose: int, day: int, share: str) -> None:
        sharers = [uid for uid in self.living if self.tally.waiting_for(uid)]
        household, uid = one_of(sharers or self.living, whose), self.uid()
        told = Leaving(uid, self.today + day * DAY, share)
        found = self.people[household].household
        assert found is not None
        fits = bool(share) or not self.tally.has_claims(household)
        before = self.tally.grams_of(self.tally.lots)
        if self.does(fits, lambda: move_out(household=found, told=told, **self.by)):
            keeps = not share and told.last_day >= self.today and self.tally.credit(household) > 0
            fetches = keeps or share == Departure.Share.PICK_UP
            self.tally.leave(household, told.last_day, fetches=fetches, today=self.today)
        assert before == self.tally.grams_of(self.tally.lots)

    @rule()
    def night(self) -> None:
        self.now = dt.datetime.combine(self.today + DAY, AT_NIGHT, tzinfo=ZONE).astimezone(dt.UTC)
        run_due(self.now)
        self.tally.night(self.today)

    @rule(days=st.integers(2, 30))
    def weeks_go_by(self, days: int) -> None:
        """The machine was off: the next night makes up for it."""
        self.now += days * DAY
