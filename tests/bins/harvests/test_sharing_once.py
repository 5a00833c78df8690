"""A harvest is shared out once, whoever asks and however often."""

import threading
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, connections, transaction

from bins.harvests.sharing import Sharing, finalise, preview
from bins.models import Outgoing, Share, Split
from households.ledger import UidReused
from households.tenancy import inside
from tests.bins.harvests.harvested import (
    OUT,
    bring,
    lot,
    resident,
    share_out,
    take_out,
)  # fmt: skip
from tests.cast import Cast

pytestmark = pytest.mark.embedded


def test_asked_again_the_split_that_stands_is_the_answer(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bring(here, cast.drum, resident(here, "A"))
        harvest = take_out(here, lot(here, cast.drum), 10)
        told = Sharing(uuid4(), preview(here, harvest, OUT.date()).mark, OUT.date(), "by the drums")

        def ask(told: Sharing) -> tuple[Split, bool]:
            done = finalise(building=here, harvest_uid=harvest.uid, told=told, person=None, via="web", now=OUT)
            return done.row, done.is_new

        first = ask(told)
        assert first[1]
        assert ask(told) == (first[0], False)
        assert ask(Sharing(uuid4(), "old", OUT.date(), "elsewhere")) == (first[0], False)
        with pytest.raises(UidReused):
            ask(Sharing(told.uid, told.mark, OUT.date(), "elsewhere"))
        assert (Split.objects.within(here).count(), Share.objects.within(here).count()) == (1, 1)
        assert Outgoing.objects.within(here).count() == 1


def test_the_database_itself_refuses_a_second_split_and_a_credit_that_does_not_follow(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bring(here, cast.drum, resident(here, "A"))
        split = share_out(here, take_out(here, lot(here, cast.drum), 10))
        (share,) = Share.objects.within(here)
        for row in (split, share):
            row.pk, row.uid, row.ledger_number = None, uuid4(), row.ledger_number + 1000
        share.split_id = Split.objects.within(here).get().pk
        share.credit_after_millionths += 1
        for row in (split, share):
            with pytest.raises(IntegrityError), transaction.atomic():
                row.save(force_insert=True)


def test_of_two_people_who_share_out_at_once_one_does(cast_in_the_open: Cast) -> None:
    cast = cast_in_the_open
    if connection.vendor != "postgresql":
        pytest.skip("SQLite lets one writer in at a time by itself")
    with inside(cast.building.uid) as here:
        for name in "AB":
            bring(here, cast.drum, resident(here, name))
        harvest = take_out(here, lot(here, cast.drum), 10)
        mark = preview(here, harvest, OUT.date()).mark
    ready, found = threading.Barrier(2), []

    def share() -> None:
        try:
            with inside(cast.building.uid) as there:
                ready.wait(10)
                told = Sharing(uuid4(), mark, OUT.date(), "by the drums")
                found.append(
                    finalise(building=there, harvest_uid=harvest.uid, told=told, person=None, via="web", now=OUT)
                )
        finally:
            connections.close_all()

    threads = [threading.Thread(target=share) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert sorted(done.is_new for done in found) == [False, True]
    assert found[0].row.pk == found[1].row.pk
    with inside(cast.building.uid) as here:
        assert (Split.objects.within(here).count(), Share.objects.within(here).count()) == (1, 2)
        assert Outgoing.objects.within(here).count() == 1
