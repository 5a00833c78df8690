"""Two batches that would fill in one drum: the database refuses the second, however they race."""

import threading
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.db import IntegrityError, connection, transaction

from bins.models import Batch, Drum, Place
from bins.process.stage import Stage
from households.tenancy import inside
from tests.cast import NOW, Cast

from .databases import copy_of_the_test_database


def empty_drum(cast: Cast) -> tuple[Drum, Place, Place]:
    """A second drum in which nothing has begun."""
    with inside(cast.building.uid) as here:
        drum = Drum.objects.create(building=here, site=cast.drum.site, number=2)
        places = [
            Place.objects.create(
                building=here, kind="chamber", site=drum.site, drum=drum, letter=letter, shape=shape, litres=100
            )
            for letter, shape in (("A", "circle"), ("B", "square"))
        ]
    return drum, places[0], places[1]


def begin(cast: Cast, drum: Drum, place: Place) -> None:
    with inside(cast.building.uid) as here, transaction.atomic():
        Batch.objects.create(
            building=here, uid=uuid4(), drum=drum, place=place, started_in=place, stage=Stage.FILLING, opened_at=NOW
        )


@pytest.mark.embedded
def test_a_second_batch_filling_in_one_drum_is_refused(cast: Cast) -> None:
    drum, a, b = empty_drum(cast)
    begin(cast, drum, a)
    with pytest.raises(IntegrityError):
        begin(cast, drum, b)


def race(cast: Cast, drum: Drum, places: tuple[Place, Place]) -> list[str]:
    """Both look first, see nothing filling, and insert: the names of the constraints that refused one."""
    both_have_looked = threading.Barrier(2)
    refusals: list[str] = []

    def look_and_begin(place: Place) -> None:
        try:
            with inside(cast.building.uid) as here:
                assert not Batch.objects.within(here).filter(drum=drum, stage=Stage.FILLING).exists()
            both_have_looked.wait(10)
            begin(cast, drum, place)
        except IntegrityError as error:
            cause: Any = error.__cause__
            refusals.append(cause.diag.constraint_name)
        finally:
            connection.close()

    threads = [threading.Thread(target=look_and_begin, args=[place]) for place in places]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    return refusals


def filling(cast: Cast, drum: Drum) -> int:
    with inside(cast.building.uid) as here:
        return Batch.objects.within(here).filter(drum=drum, stage=Stage.FILLING).count()


def test_of_two_that_race_the_constraint_refuses_one(cast_in_the_open: Cast) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("one writer at a time")
    drum, *places = empty_drum(cast_in_the_open)
    assert race(cast_in_the_open, drum, (places[0], places[1])) == ["batch_one_filling_a_drum"]
    assert filling(cast_in_the_open, drum) == 1


def test_without_the_constraint_the_same_race_leaves_two(
    cast_in_the_open: Cast, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("one writer at a time")
    drum, *places = empty_drum(cast_in_the_open)
    settings: dict[str, Any] = connection.settings_dict
    with copy_of_the_test_database(tmp_path) as name:
        owner = {key.lower(): settings[key] for key in ("HOST", "PORT", "USER", "PASSWORD")}
        with psycopg.connect(dbname=name, **owner, autocommit=True) as owners:
            owners.execute("DROP INDEX batch_one_filling_a_drum")
        with monkeypatch.context() as patch:
            patch.setitem(settings, "NAME", name)
            refusals = race(cast_in_the_open, drum, (places[0], places[1]))
            left = filling(cast_in_the_open, drum)
            connection.close()
    assert (refusals, left) == ([], 2)
