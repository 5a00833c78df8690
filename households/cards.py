"""Cards: giving a household its number, cancelling a lost one, and finding whose a number is."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Iterator
from uuid import uuid5

from .ledger import open_ledger
from .models import Audit, Building, Card, Household, Person

OLD_CARDS_LAST = dt.timedelta(days=90)  # chosen: one may still turn up on a sheet for a season
# No 0, 1, 5, 8 or 9: written in a hurry, or held upside down, each reads as one of these.
DIGITS = "23467"
LENGTH = 4
APART = 2  # chosen: numbers differ in two places, so that one wrong digit names nobody
TRIES = 2000  # chosen: by then the numbers that far apart are used up, and any unused one will do
MOST_HOUSEHOLDS = 500  # chosen: a large block; more than the short numbers would reach for
# For whoever uses up all numbers of five digits: a search that never ends would hold the building for ever.
MORE_SIGNS = DIGITS + "ACEFHJKMNPRTWXY"


def give_card(building: Building, household: Household, on: dt.date) -> Card:
    """Give a household without a card its number. Call with the building locked.

    The number follows from the household's uid by a hash: it tells nothing about the flat, and a replay of
    the same history gives the same.
    """
    used = set(Card.objects.within(building).values_list("number", flat=True))
    number = _unused(str(household.uid), used)
    card: Card = Card.objects.create(
        building=building, uid=uuid5(household.uid, f"card {number}"), household=household, number=number, given_on=on
    )
    return card


def give_cards(building: Building, households: Iterable[Household], on: dt.date) -> None:
    """Give many new households their numbers, in two statements. Call with the building locked."""
    used = set(Card.objects.within(building).values_list("number", flat=True))
    has_room = True  # the long search for one that is apart from all is not made again once it has failed
    cards = []
    for household in households:
        seed = str(household.uid)
        number = _unused(seed, used) if has_room else next(one for one in _numbers(seed) if one not in used)
        has_room = has_room and all(_differing(number, other) >= APART for other in used)
        used.add(number)
        uid = uuid5(household.uid, f"card {number}")
        cards.append(Card(building=building, uid=uid, household=household, number=number, given_on=on))
    Card.objects.bulk_create(cards)


def renew_card(*, building: Building, household: Household, by: Person | None, now: dt.datetime) -> Card:
    """Cancel a household's card and give it another; only that for one without a card."""
    today = building.local(now).date()
    with open_ledger(building):
        Card.objects.within(building).filter(household=household, cancelled_on__isnull=True).update(cancelled_on=today)
        card = give_card(building, household, today)
        Audit.note(building, by, "card-renewed", now, household=str(household.uid))
    return card


def household_of_card(building: Building, card: str) -> Household | None:
    """Whose a number is today; None for an unknown or cancelled one, or of a household that has left."""
    found: Card | None = (
        Card.objects.within(building)
        .filter(number="".join(card.split()).upper(), cancelled_on__isnull=True, household__left_on__isnull=True)
        .select_related("household")
        .first()
    )
    return found.household if found else None


def cancelled_cards(building: Building, since: dt.date) -> list[Card]:
    """Numbers that no longer count, cancelled on a day or later, latest first, with their households. One query."""
    cards = Card.objects.within(building).filter(cancelled_on__gte=since)
    return list(cards.select_related("household").order_by("-cancelled_on", "number"))


def _unused(seed: str, used: Iterable[str]) -> str:
    taken = set(used)
    numbers = _numbers(seed)
    for _ in range(TRIES):
        number = next(numbers)
        if all(_differing(number, other) >= APART for other in taken):
            return number
    return next(number for number in numbers if number not in taken)


def _numbers(seed: str) -> Iterator[str]:
    """Endless numbers; longer after ten thousand and of more signs after twenty, so that a search always ends."""
    attempt = 0
    while True:
        drawn = int.from_bytes(hashlib.sha256(f"{seed} {attempt}".encode()).digest())
        signs = DIGITS if attempt < 20_000 else MORE_SIGNS
        digits = []
        for _ in range(LENGTH if attempt < 10_000 else LENGTH + 1):
            drawn, rest = divmod(drawn, len(signs))
            digits.append(signs[rest])
        yield "".join(digits)
        attempt += 1


def _differing(one: str, other: str) -> int:
    return LENGTH + 1 if len(one) != len(other) else sum(a != b for a, b in zip(one, other, strict=True))
