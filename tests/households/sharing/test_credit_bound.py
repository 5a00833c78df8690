"""Two years of monthly splits: how far a credit can drift, with memory and without.

Proved for the same households in every split (docstring of apportion, DEVELOPERS.md): every credit stays
above -1 and at or below H(n) - 1 tubs, H(n) = 1 + 1/2 + ... + 1/n. The issue asks for 1 + ln(n).
"""

import random
import sys
from collections.abc import Iterator
from fractions import Fraction
from math import log
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from households.sharing.apportion import Owed, apportion
from households.sharing.filling_up import Stake, fill_up
from households.sharing.tub import MILLIONTHS

MONTHS = 24
Due = dict[UUID, int]


def by_weight(weights: list[int], tubs: int) -> Due:
    return fill_up(tuple(Stake(UUID(int=i), w) for i, w in enumerate(weights)), tubs * MILLIONTHS)


class Book:
    """Credits carried from split to split, and beside them the drift of rounding without memory."""

    def __init__(self, households: int) -> None:
        self.credits = {UUID(int=i): 0 for i in range(households)}
        self.forgetful = dict(self.credits)
        self.largest = self.lowest = self.largest_forgetful = 0

    def split(self, due: Due, tubs: int) -> dict[UUID, int]:
        done = apportion(tuple(Owed(uid, due[uid], self.credits[uid]) for uid in due), tubs)
        plain = apportion(tuple(Owed(uid, due[uid]) for uid in due), tubs)
        self.credits = done.credits
        for uid, drift in plain.credits.items():
            self.forgetful[uid] += drift
        self.largest = max(self.largest, *self.credits.values())
        self.lowest = min(self.lowest, *self.credits.values())
        self.largest_forgetful = max(self.largest_forgetful, *map(abs, self.forgetful.values()))
        return done.tubs


def fixed(n: int, rng: random.Random) -> Iterator[tuple[list[int], int]]:
    weights = [rng.randint(1, 40) for _ in range(n)]
    for _ in range(MONTHS):
        yield weights, 7


def varying(n: int, rng: random.Random) -> Iterator[tuple[list[int], int]]:
    for _ in range(MONTHS):
        yield [rng.choice((0, 0, 1, 1, 2, 5, 20)) for _ in range(n - 1)] + [1], rng.randint(1, 12)


def run_adversary(book: Book, tubs: int) -> None:
    """Emptying cups: what falls due is spread over the households that got nothing yet, so that whoever is
    passed over each time is owed 1/n + 1/(n-1) + ... ; when all were served it begins again."""
    waiting = set(book.credits)
    for _ in range(MONTHS):
        if len(waiting) <= tubs:
            waiting = set(book.credits)
        due = by_weight([int(UUID(int=i) in waiting) for i in range(len(book.credits))], tubs)
        got = book.split(due, tubs)
        waiting -= {uid for uid, number in got.items() if number}


def bound(n: int) -> int:
    """H(n) - 1 in millionths, rounded up."""
    return -int(-(sum(Fraction(1, k) for k in range(1, n + 1)) - 1) * MILLIONTHS // 1)


def check(book: Book, n: int, name: str) -> None:
    sys.stdout.write(
        f"{name:>11}, {n:2} households: largest credit {book.largest / MILLIONTHS:+.3f}, "
        f"lowest {book.lowest / MILLIONTHS:+.3f}, 1 + ln(n) {1 + log(n):.3f}, H(n) - 1 {bound(n) / MILLIONTHS:.3f}; "
        f"without memory {book.largest_forgetful / MILLIONTHS:.3f}\n"
    )
    assert max(book.largest, -book.lowest) < (1 + log(n)) * MILLIONTHS
    assert -MILLIONTHS < book.lowest <= book.largest <= bound(n)
    assert sum(book.credits.values()) == 0


@pytest.mark.parametrize("n", [6, 14, 28])
@pytest.mark.parametrize("name", ["fixed", "random", "adversarial"])
def test_two_years_of_splits_keep_every_credit_below_one_and_the_logarithm(name: str, n: int) -> None:
    worst = Book(n)
    for seed in range(10):
        book = Book(n)
        if name == "adversarial":
            run_adversary(book, tubs=1 + seed % 4)
        else:
            for weights, tubs in (fixed if name == "fixed" else varying)(n, random.Random(seed)):
                book.split(by_weight(weights, tubs), tubs)
        worst.largest = max(worst.largest, book.largest)
        worst.lowest = min(worst.lowest, book.lowest)
        worst.largest_forgetful = max(worst.largest_forgetful, book.largest_forgetful)
    check(worst, n, name)


def test_with_fixed_shares_rounding_without_memory_drifts_for_ever_and_memory_does_not() -> None:
    # S9's shares: the second household gains a quarter of a tub each month without memory
    book = Book(4)
    for _ in range(MONTHS):
        book.split(by_weight([46, 25, 15, 14], 7), 7)
    assert book.largest_forgetful == 6 * MILLIONTHS  # 24 x 0.25
    assert max(book.largest, -book.lowest) < MILLIONTHS


def test_the_worst_legal_sequence_passes_two_tubs() -> None:
    # S9b, D: no online rule stays under one tub; it grows like log n. 28 households, one tub a time
    book = Book(28)
    waiting = list(book.credits)
    while len(waiting) > 1:
        due = by_weight([int(UUID(int=i) in waiting) for i in range(28)], 1)
        got = book.split(due, 1)
        waiting = [uid for uid in waiting if not got[uid]]
    assert 2 * MILLIONTHS < book.largest <= bound(28)


@given(
    st.integers(2, 9).flatmap(
        lambda n: st.lists(
            st.tuples(st.lists(st.integers(0, 9), min_size=n, max_size=n).filter(any), st.integers(1, 5)),
            min_size=1,
            max_size=30,
        )
    )
)
def test_the_proved_bound_holds_for_any_sequence_of_shares(splits: list[tuple[list[int], int]]) -> None:
    n = len(splits[0][0])
    book = Book(n)
    for weights, tubs in splits:
        book.split(by_weight(weights, tubs), tubs)
    assert -MILLIONTHS < book.lowest <= book.largest <= bound(n)
