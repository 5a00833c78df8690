"""Fifty who want the last place at once: one gets it. Beside it, the same race without the guards."""

import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from uuid import uuid5

import psycopg
import pytest
from django.db import IntegrityError, connection, transaction

from bins.models import Assignment
from bins.records import Refused
from bins.slots import booking
from bins.slots.booking import WantsSlot, book
from households.ledger import Ledger
from households.models import Booking, Building, Household, Slot
from households.tenancy import inside
from tests.cast import BASE, NOW, Cast
from tests.coordinator.jobs.databases import copy_of_the_test_database

from .slotted import TUESDAY, slot_in

MANY = 50
PLACE = "booking_place_once"


def a_slot_and_many(cast: Cast) -> tuple[Slot, list[Household]]:
    """A slot with one place, and fifty households of the one drum."""
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households=1)
        homes = Household.objects.bulk_create(
            Household(building=here, uid=uuid5(BASE, f"home {n}"), label=f"Flat {100 + n}", joined_on=NOW.date())
            for n in range(MANY)
        )
        Assignment.objects.bulk_create(
            Assignment(building=here, uid=uuid5(home.uid, "drum"), household=home, drum=cast.drum) for home in homes
        )
    return slot, list(homes)


def race(cast: Cast, slot: Slot, homes: list[Household]) -> Counter[str]:
    """All ask at once: how many won, were told that it is gone, or ran into the key."""
    ready, answers = threading.Barrier(len(homes)), []

    def ask(home: Household) -> None:
        try:
            ready.wait(30)
            told = WantsSlot(uuid5(home.uid, "wants"), slot.uid, TUESDAY, 4)
            with inside(cast.building.uid) as here:
                book(building=here, told=told, household=home, now=NOW)
            answers.append("won")
        except Refused:
            answers.append("gone")
        except IntegrityError as error:
            cause: Any = error.__cause__
            answers.append(cause.diag.constraint_name)
        finally:
            connection.close()

    threads = [threading.Thread(target=ask, args=[home]) for home in homes]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    return Counter(answers)


def booked(cast: Cast) -> int:
    with inside(cast.building.uid) as here:
        return Booking.objects.within(here).count()


@contextmanager
def without_the_lock(patch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nobody takes the building's row, and all have looked for a free place before the first writes."""
    all_have_looked = threading.Barrier(MANY)
    look = booking.first_free

    @contextmanager
    def unlocked(building: Building) -> Iterator[Ledger]:
        with transaction.atomic():
            yield Ledger(building)

    def look_and_wait(taken: set[int]) -> int:
        found = look(taken)
        all_have_looked.wait(30)
        return found

    with patch.context() as here:
        here.setattr(booking, "open_ledger", unlocked)
        here.setattr(booking, "first_free", look_and_wait)
        yield


@pytest.fixture(autouse=True)
def _only_where_two_can_write() -> None:
    if connection.vendor == "sqlite":
        pytest.skip("one writer at a time")


def test_of_fifty_who_want_the_last_place_one_gets_it(cast_in_the_open: Cast) -> None:
    slot, homes = a_slot_and_many(cast_in_the_open)
    assert race(cast_in_the_open, slot, homes) == {"won": 1, "gone": MANY - 1}
    assert booked(cast_in_the_open) == 1


def test_without_the_lock_the_key_still_lets_one_in(cast_in_the_open: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    slot, homes = a_slot_and_many(cast_in_the_open)
    with without_the_lock(monkeypatch):
        assert race(cast_in_the_open, slot, homes) == {"won": 1, PLACE: MANY - 1}
    assert booked(cast_in_the_open) == 1


def test_without_lock_and_key_the_same_race_gives_one_place_to_fifty(
    cast_in_the_open: Cast, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    slot, homes = a_slot_and_many(cast_in_the_open)
    settings: dict[str, Any] = connection.settings_dict
    with copy_of_the_test_database(tmp_path) as name:
        owner = {key.lower(): settings[key] for key in ("HOST", "PORT", "USER", "PASSWORD")}
        with psycopg.connect(dbname=name, **owner, autocommit=True) as owners:
            owners.execute(f"DROP INDEX {PLACE}")
        with monkeypatch.context() as patch, without_the_lock(monkeypatch):
            patch.setitem(settings, "NAME", name)
            answers, left = race(cast_in_the_open, slot, homes), booked(cast_in_the_open)
            connection.close()
    assert (answers, left) == ({"won": MANY}, MANY)
