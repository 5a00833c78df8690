"""Ten thousand random batches with everything on: no tub is lost, and shares are those of an independent library.

Buildings of 1 to 24 households live through a dozen batches each, by any rule, with least and most, requests, gifts
before and after the sharing, losses before and after, people who come and who don't, and the sweep at the end. What is
owed is carried from batch to batch. No database: what is shared and swept here is what the services share and sweep.
"""

import random
from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from uuid import UUID

from apportionment import methods as apportionment

from bins.harvests.unclaimed import Lying, Waiting, decide
from households.sharing.claimant import Claimant
from households.sharing.rule import Kind, SharingRule
from households.sharing.split import Split, split_harvest
from households.sharing.tub import MILLIONTHS as TUB

BATCHES, A_BUILDING = 10_000, 12
HARVEST = UUID(int=0xBEEF)


@dataclass
class Book:
    """Where the tubs of one harvest are, in millionths."""

    harvested: int
    lost: int = 0
    reserve: int = 0
    given: Counter[UUID] = field(default_factory=Counter)
    gifts: Counter[UUID] = field(default_factory=Counter)
    unclaimed: Counter[UUID] = field(default_factory=Counter)

    @property
    def waiting(self) -> int:
        gone = self.given.total() + self.gifts.total() + self.unclaimed.total()
        return self.harvested - self.lost - self.reserve - gone

    def went(self, uid: UUID) -> int:
        return self.given[uid] + self.gifts[uid] + self.unclaimed[uid]


def any_rule(dice: random.Random) -> SharingRule:
    least = dice.choice([0, 0, 0, 1, 2])
    return SharingRule(
        kind=dice.choice(list(Kind)),
        reserve_percent=dice.choice([0, 10, 20, 20, 35, 100]),
        ceiling_percent=dice.choice([None, 100, 150, 200]),
        least_tubs=least,
        most_tubs=dice.choice([None, None, least + 1, least + 3]),
    )


def any_claimant(dice: random.Random, uid: UUID, kind: Kind, credit: int) -> Claimant:
    weight = dice.choice([0, 1, 1, 1]) if kind is Kind.EQUAL else dice.choice([0, dice.randint(1, 40_000)])
    wish = dice.choice(["keep"] * 8 + ["garden", "neighbours"])
    request = dice.choice([None, 0, dice.randint(1, 9)])
    return Claimant(uid, weight, credit, request, wish == "garden", wish == "neighbours")


def test_no_tub_is_lost_in_ten_thousand_batches_with_everything_on() -> None:
    dice, batches, tubs = random.Random(20261126), 0, 0
    while batches < BATCHES:
        uids = [UUID(int=dice.getrandbits(128)) for _ in range(dice.randint(1, 24))]
        credits = dict.fromkeys(uids, 0)
        for _ in range(A_BUILDING):
            rule, book = any_rule(dice), Book(dice.randint(0, 70_000_000))
            if dice.random() < 0.1:
                book.lost = dice.randint(0, book.waiting)
            who = tuple(any_claimant(dice, uid, rule.kind, credits[uid]) for uid in uids)
            split = split_harvest(book.waiting, rule, who)
            share_out(book, split, who, rule)
            live_through(dice, book, split)
            sweep(book, split)
            for share in split.shares:
                # What was lost before it could be fetched is owed again; what was left lying or given away is not.
                credits[share.uid] += share.entitlement_millionths - book.went(share.uid)
            batches, tubs = batches + 1, tubs + book.harvested // TUB
    print(f"{batches} batches, {tubs} whole tubs")


def share_out(book: Book, split: Split, who: tuple[Claimant, ...], rule: SharingRule) -> None:
    """All of it is somebody's: the beds' or a household's; nobody gets more than may be, or than it wants."""
    before = book.waiting
    book.reserve = split.reserve_millionths + split.left_over_tubs * TUB
    assert book.reserve + split.given_tubs * TUB == before
    assert 0 <= split.given_up_tubs <= split.left_over_tubs
    for one, share in zip(sorted(who, key=lambda each: each.uid), split.shares, strict=True):
        owed = share.entitlement_millionths + share.credit_before_millionths
        assert share.credit_after_millionths == owed - share.tubs * TUB
        assert share.tubs >= 0
        assert not (one.gives and (share.tubs or share.entitlement_millionths))
        assert rule.most_tubs is None or share.tubs <= rule.most_tubs
        assert rule.kind is not Kind.REQUEST or share.tubs <= (one.request_tubs or 0)
        assert one.weight or not share.entitlement_millionths
    takers = [
        share
        for share, one in zip(split.shares, sorted(who, key=lambda each: each.uid), strict=True)
        if one.weight and not one.gives
    ]
    due = sum(share.entitlement_millionths for share in takers)
    has_no_ceiling = rule.kind is Kind.EQUAL or rule.ceiling_percent is None
    if takers and rule.kind is not Kind.REQUEST and has_no_ceiling and due >= len(takers) * rule.least_tubs * TUB:
        assert min(share.entitlement_millionths for share in takers) >= rule.least_tubs * TUB


def live_through(dice: random.Random, book: Book, split: Split) -> None:
    """Some fetch all, some a part, some give away, some never come; some is lost meanwhile."""
    for share in dice.sample(split.shares, len(split.shares)):
        if dice.random() < 0.05:
            book.lost += dice.randint(0, book.waiting)
        left = min(share.tubs * TUB, book.waiting)
        if left and dice.random() < 0.2:
            book.gifts[share.uid] = dice.randint(1, left)
        left = min(share.tubs * TUB - book.gifts[share.uid], book.waiting)
        if left and dice.random() < 0.7:
            book.given[share.uid] = left if dice.random() < 0.7 else dice.randint(1, left)
        assert book.waiting >= 0


def sweep(book: Book, split: Split) -> None:
    """After the last day the beds get what nobody fetched: then nothing waits, and the sum is the harvest."""
    lying = tuple(
        Lying(share.uid, share.tubs * TUB - book.went(share.uid), bool(book.given[share.uid]))
        for share in split.shares
        if share.tubs * TUB > book.went(share.uid)
    )
    for left in decide((Waiting(HARVEST, book.waiting, lying),)):
        if left.share_uid is None:
            book.reserve += left.millionths
        else:
            book.unclaimed[left.share_uid] += left.millionths
    assert book.waiting == 0
    assert min(book.reserve, book.lost, *book.given.values(), *book.gifts.values(), *book.unclaimed.values(), 0) == 0
    assert (
        book.given.total() + book.reserve + book.gifts.total() + book.unclaimed.total() + book.lost + book.waiting
        == book.harvested
    )


def test_s10_shares_by_weight_equal_an_independent_library_ties_aside() -> None:
    # S10: PyPI `apportionment` 1.0, largest remainder in exact fractions; by weight, by care work, and (weights alike)
    # in equal parts.
    dice, compared = random.Random(10), 0
    for _ in range(1500):
        kind = dice.choice([Kind.EQUAL, Kind.CONTRIBUTION, Kind.CARE])
        weights = [1 if kind is Kind.EQUAL else dice.randint(1, 30_000) for _ in range(dice.randint(1, 20))]
        tubs = dice.randint(1, 60)
        remainders = sorted(Fraction(weight * tubs % sum(weights), sum(weights)) for weight in weights)
        is_near = any(after - before <= Fraction(2, TUB) for before, after in pairwise(remainders))
        if is_near and (kind is not Kind.EQUAL or tubs % len(weights)):
            continue  # a tie, or what whole millionths take for one
        who = tuple(Claimant(UUID(int=number), weight) for number, weight in enumerate(weights))
        split = split_harvest(tubs * TUB, SharingRule(kind, reserve_percent=0, ceiling_percent=None), who)
        expected = apportionment.compute("hamilton", weights, tubs, fractions=True, verbose=False)
        assert [share.tubs for share in split.shares] == list(expected)
        compared += 1
    assert compared > 800
