"""Two households that take one cover at the same moment: one wins, by the lock, and by the database alone as well."""

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.db import IntegrityError, connection, transaction

from bins.duties.cover import CoverAnswer, CoverAsked, answer, ask
from bins.duties.doing import take
from bins.records import Refused
from households.models import Cover, CoverTaking, Duty, DutyAssignment, Household
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer
from tests.coordinator.jobs.databases import copy_of_the_test_database

from .planned import DAY, TODAY, duty, home, kind, site_of, who

ALL = 10


def request_for_cover(cast: Cast) -> tuple[Duty, Cover, list[Household]]:
    """A duty of the resident, its request, and two households that would take it."""
    others = [home(cast.neighbour), home(newcomer(cast.building, "Farida", "Flat 7", "resident"))]
    with inside(cast.building.uid) as here:
        row = duty(here, kind(here, site_of(cast)), TODAY + DAY, cast.resident)
        cover = ask(building=here, household=home(cast.resident), told=CoverAsked(uuid4(), row.uid), now=NOW)
    return row, cover, others


def at_once(deeds: list[Callable[[], None]]) -> None:
    """Run all, each in its own thread and connection."""

    def run(deed: Callable[[], None]) -> None:
        try:
            deed()
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=[deed]) for deed in deeds]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)


def race(cast: Cast, cover: Cover, households: list[Household]) -> list[str]:
    """Both look, see that nobody has taken it, and take it, past the lock: the constraints that refused one."""
    both_have_looked = threading.Barrier(len(households))
    refusals: list[str] = []

    def look_and_take(household: Household) -> None:
        try:
            with inside(cast.building.uid) as here:
                assert not CoverTaking.objects.within(here).filter(cover=cover).exists()
            both_have_looked.wait(10)
            with inside(cast.building.uid) as here, transaction.atomic():
                CoverTaking.objects.create(building=here, cover=cover, household=household, taken_at=NOW)
        except IntegrityError as error:
            cause: Any = error.__cause__
            refusals.append(cause.diag.constraint_name)

    at_once([lambda household=household: look_and_take(household) for household in households])  # type: ignore[misc]
    return refusals


def takings(cast: Cast) -> int:
    with inside(cast.building.uid) as here:
        return CoverTaking.objects.within(here).count()


def test_of_two_that_race_past_the_lock_the_key_refuses_one(cast_in_the_open: Cast) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("one writer at a time")
    _row, cover, others = request_for_cover(cast_in_the_open)
    assert race(cast_in_the_open, cover, others) == ["households_covertaking_cover_id_key"]
    assert takings(cast_in_the_open) == 1


def test_without_the_key_the_same_race_leaves_two(
    cast_in_the_open: Cast, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("one writer at a time")
    _row, cover, others = request_for_cover(cast_in_the_open)
    settings: dict[str, Any] = connection.settings_dict
    with copy_of_the_test_database(tmp_path) as name:
        owner = {key.lower(): settings[key] for key in ("HOST", "PORT", "USER", "PASSWORD")}
        with psycopg.connect(dbname=name, **owner, autocommit=True) as owners:
            owners.execute("ALTER TABLE households_covertaking DROP CONSTRAINT households_covertaking_cover_id_key")
        with monkeypatch.context() as patch:
            patch.setitem(settings, "NAME", name)
            refusals, left = race(cast_in_the_open, cover, others), takings(cast_in_the_open)
            connection.close()
    assert (refusals, left) == ([], 2)


def test_of_two_that_press_at_once_one_has_the_duty_and_the_other_is_told(cast_in_the_open: Cast) -> None:
    row, cover, others = request_for_cover(cast_in_the_open)
    told: list[str] = []

    def press(household: Household) -> None:
        with inside(cast_in_the_open.building.uid) as here:
            try:
                answer(building=here, cover_uid=cover.uid, household=household, told=CoverAnswer("take"), now=NOW)
            except Refused as refused:
                told.append(str(refused))

    at_once([lambda household=household: press(household) for household in others])  # type: ignore[misc]
    with inside(cast_in_the_open.building.uid):
        assert len(who(row)) == len(told) == takings(cast_in_the_open) == 1
        assert who(row)[0] in ("Flat 5", "Flat 7")


def test_of_many_that_want_the_last_place_of_a_duty_one_gets_it(cast_in_the_open: Cast) -> None:
    people = [newcomer(cast_in_the_open.building, f"Person{n}", f"Flat {20 + n}", "resident") for n in range(ALL)]
    with inside(cast_in_the_open.building.uid) as here:
        row = duty(here, kind(here, site_of(cast_in_the_open), usual=2), TODAY + DAY, cast_in_the_open.resident)
    refused: list[Household] = []

    def press(household: Household) -> None:
        with inside(cast_in_the_open.building.uid) as here:
            try:
                take(building=here, duty_uid=row.uid, household=household, now=NOW)
            except Refused:
                refused.append(household)

    at_once([lambda person=person: press(home(person)) for person in people])  # type: ignore[misc]
    with inside(cast_in_the_open.building.uid) as here:
        assert DutyAssignment.objects.within(here).filter(duty=row).count() == 2
    assert len(refused) == ALL - 1
