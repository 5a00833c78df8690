"""A lot moves, joins another, or is thrown out; a hatch is shut and reopened; a drum goes out of use and back."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from bins.care.discarding import Discard, discard
from bins.care.drum_state import DrumWord, change_drum
from bins.care.lineage import family
from bins.care.merging import Merge, merge
from bins.care.moving import Move, free_places, move
from bins.care.quarantine import Reopening, Shutting, reopen, shut
from bins.decisions.gather import gather_drums
from bins.hatch import drum_states
from bins.models import Assignment, Batch, Drum, Movement, Place, PlaceChange, StageChange, Visit
from bins.people.joining import assign
from bins.records import Refused
from households.models import Building, Notice
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, by, close, fresh, hatch, pail, put_in, visit
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def a_move(batch: Batch, **raw: object) -> Move:
    return Move.from_raw({"uid": uuid4(), "batch": batch.uid} | raw)


def two_lots(cast: Cast, here: Building) -> tuple[Batch, Batch]:
    """The older one works in A, the younger one is open in B."""
    older = batch_in(here, cast, "A")
    close(cast, here, older, NOW + DAY)
    return fresh(older), batch_in(here, cast, "B")


def test_a_lot_moves_into_a_new_curing_bin_and_its_hatch_is_free(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older, _ = two_lots(cast, here)
        told = a_move(older, to="new", litres="200")
        row = move(told=told, **by(cast, here, NOW + 2 * DAY))
        again = move(told=told, **by(cast, here, NOW + 3 * DAY))
        assert row.pk == again.pk
        assert (row.to_place.kind, row.to_place.letter, row.to_place.litres) == ("curing_bin", "C", 200)
        assert fresh(older).place == row.to_place
        assert [place.letter for place in free_places(here, cast.drum.site)] == ["A"]


def test_an_open_lot_stays_in_its_drum(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        with pytest.raises(Refused):
            move(told=a_move(batch, to="new", litres=200), **by(cast, here))
        move(told=a_move(batch, to=str(hatch(here, cast, "B").uid)), **by(cast, here))
        assert fresh(batch).place == hatch(here, cast, "B")
        assert Place.objects.within(here).count() == 2  # the refused bin was not kept


def test_no_lot_goes_where_one_is_or_where_it_is_shut(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older, younger = two_lots(cast, here)
        with pytest.raises(Refused):
            move(told=a_move(older, to=str(younger.place.uid)), **by(cast, here))
        spare = Place.objects.create(
            building=here, kind="curing_bin", site=cast.drum.site, letter="C", litres=100, is_quarantined=True
        )
        with pytest.raises(Refused):
            move(told=a_move(older, to=str(spare.uid)), **by(cast, here))


def test_a_level_read_in_the_old_place_is_the_same_litres_in_the_new_one(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        visit(cast, here, NOW, level="three_quarters")
        older, _ = two_lots(cast, here)
        move(told=a_move(older, to="new", litres=150), **by(cast, here, NOW + 2 * DAY))
        ((_, (drum,)),) = gather_drums(here, NOW + 3 * DAY)
        seen = next(one for one in drum.batches if one.uid == older.uid)
        assert [level.percent for level in seen.levels] == [50]  # 75 of 100 L, 75 of 150 L


def test_the_picture_shows_a_moved_lot_by_its_litres(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        visit(cast, here, NOW, level="half")
        batch = batch_in(here, cast, "A")
        Place.objects.within(here).filter(pk=hatch(here, cast, "B").pk).update(litres=50)
        move(told=a_move(batch, to=str(hatch(here, cast, "B").uid)), **by(cast, here, NOW + DAY))
        (state,) = drum_states(here)
        assert [(one.place.letter, one.level_percent) for one in state.hatches] == [("A", 0), ("B", 100)]


def merging(batch: Batch, into: Batch) -> Merge:
    return Merge.from_raw({"uid": uuid4(), "batch": batch.uid, "into": into.uid})


def test_two_lots_become_one_and_all_who_brought_are_in_the_family(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older, younger = two_lots(cast, here)
        merge(told=merging(older, younger), **by(cast, here, NOW + 2 * DAY))
        assert (fresh(older).stage, older.merged_into, older.place) == ("merged", younger, None)
        assert fresh(younger).stage == "filling"  # an open one stays open, whatever joins it
        assert set(family(here, younger)) == {older.pk, younger.pk}


@pytest.mark.parametrize(
    ("stage", "into_stage", "then"),
    [
        ("composting", "composting", "composting"),
        ("composting", "curing", "composting"),
        ("curing", "composting", "composting"),
        ("ready", "curing", "curing"),
    ],
)
def test_the_younger_one_decides_and_its_days_count_from_the_later_beginning(
    cast: Cast, stage: str, into_stage: str, then: str
) -> None:
    with inside(cast.building.uid) as here:
        older, younger = two_lots(cast, here)
        put_in(here, younger, "composting", NOW + 20 * DAY)
        for number, name in enumerate(("composting", "curing", "ready")):
            for one, wanted in ((older, stage), (younger, into_stage)):
                order = ("composting", "curing", "ready")
                if 0 < number <= order.index(wanted):
                    put_in(here, one, name, NOW + (30 + 10 * number) * DAY)
        merge(told=merging(older, younger), **by(cast, here, NOW + 90 * DAY))
        ((_, (drum,)),) = gather_drums(here, NOW + 91 * DAY)
        (seen,) = drum.batches
        assert (fresh(younger).stage, seen.stage) == (then, then)
        since = {"composting": seen.composting_since, "curing": seen.curing_since}[then]
        beginnings = {"composting": NOW + 20 * DAY, "curing": NOW + 40 * DAY}
        if then == "composting" and stage == "composting" and into_stage == "curing":
            assert since == max(NOW + DAY, beginnings[then])
        else:
            assert since == beginnings[then]


def test_an_open_lot_put_into_a_closed_one_closes_and_sends_it_back_to_work_from_today(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older, younger = two_lots(cast, here)
        put_in(here, older, "curing", NOW + 60 * DAY)
        merge(told=merging(younger, older), **by(cast, here, NOW + 70 * DAY))
        ((_, (drum,)),) = gather_drums(here, NOW + 71 * DAY)
        assert [(one.stage, one.composting_since) for one in drum.batches] == [("composting", NOW + 70 * DAY)]
        assert fresh(younger).closed_at == NOW + 70 * DAY


def test_only_lots_of_one_drum_are_put_together(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        with pytest.raises(Refused):
            merge(told=merging(batch, batch), **by(cast, here))


def test_the_database_refuses_a_merged_lot_without_the_other(cast: Cast) -> None:
    with inside(cast.building.uid) as here, transaction.atomic(), pytest.raises(IntegrityError):
        Batch.objects.create(
            building=here, drum=cast.drum, started_in=hatch(here, cast, "B"), stage="merged", opened_at=NOW,
            closed_at=NOW, ended_at=NOW,
        )  # fmt: skip


# Thrown out ---------------------------------------------------------------------------------------


def throwing(batch: Batch, **raw: object) -> Discard:
    told = {"uid": uuid4(), "batch": batch.uid, "reason": "full of plastic", "litres": "80", "destination": "the tip"}
    return Discard.from_raw(told | raw)


def test_thrown_out_keeps_reason_amount_and_where_to_and_tells_its_contributors_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        pail(cast, here)
        pail(cast, here)
        batch = batch_in(here, cast, "A")
        told = throwing(batch)
        row = discard(told=told, **by(cast, here, NOW))
        discard(told=told, **by(cast, here, NOW + DAY))
        assert (row.kind, row.millilitres, row.destination, row.reason) == (
            "discarded", 80_000, "the tip", "full of plastic",
        )  # fmt: skip
        assert (fresh(batch).stage, batch.place) == ("discarded", None)
        sent = Notice.objects.filter(building=here, kind="thrown-out")
        assert [notice.to for notice in sent] == ["imani@quince-court.invalid"]
        assert "full of plastic" in sent[0].body


def test_whoever_brought_to_the_lot_that_joined_it_is_told_as_well(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        pail(cast, here)
        older, younger = two_lots(cast, here)
        merge(told=merging(older, younger), **by(cast, here, NOW + 2 * DAY))
        discard(told=throwing(younger), **by(cast, here, NOW + 3 * DAY))
        assert Notice.objects.filter(building=here, kind="thrown-out").count() == 1


def test_throwing_out_asks_for_all_of_it() -> None:
    with pytest.raises(Refused) as refused:
        Discard.from_raw({"uid": uuid4(), "batch": uuid4(), "litres": "-1"})
    assert set(refused.value.errors) == {"reason", "litres", "destination"}


# Shut for now ---------------------------------------------------------------------------------------


def shutting(place: Place) -> Shutting:
    return Shutting.from_raw({"uid": uuid4(), "place": place.uid, "reason": "a needle"})


def test_a_shut_hatch_takes_nothing_until_somebody_looked_inside_and_gave_a_name(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        place = hatch(here, cast, "A")
        shut(told=shutting(place), **by(cast, here, NOW))
        assert drum_states(here)[0].open is None
        with pytest.raises(Refused):
            Reopening.from_raw({"uid": uuid4(), "place": place.uid})
        look = Reopening.from_raw({"uid": uuid4(), "place": place.uid, "looked": "yes"})
        with pytest.raises(Refused):
            reopen(told=look, **by(cast, here, NOW + DAY) | {"person": None})
        row = reopen(told=look, **by(cast, here, NOW + DAY))
        assert row.attribution.person == cast.caretaker
        assert Visit.objects.within(here).get() == row.visit
        assert drum_states(here)[0].open is not None


def test_the_database_refuses_reopening_without_a_visit_and_shutting_without_a_reason(cast: Cast) -> None:
    told: dict[str, Any] = {
        "happened_at": NOW, "heard_at": NOW, "counts_at": NOW, "via": "web", "fingerprint": "0", "ledger_number": 9000,
    }  # fmt: skip
    with inside(cast.building.uid) as here:
        for what in ({"is_shut": False}, {"is_shut": True, "reason": ""}):
            with transaction.atomic(), pytest.raises(IntegrityError):
                PlaceChange.objects.create(building=here, place=hatch(here, cast, "A"), **told, **what)


def test_a_night_that_was_missed_sees_what_was_shut_and_where_it_stood_then(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older, _ = two_lots(cast, here)
        shut(told=shutting(hatch(here, cast, "A")), **by(cast, here, NOW + 2 * DAY))
        move(told=a_move(older, to="new", litres=200), **by(cast, here, NOW + 4 * DAY))
        seen = {}
        for day in (0.5, 1.5, 3, 5):
            ((_, (drum,)),) = gather_drums(here, NOW + day * DAY)
            place = next(one for one in drum.places if one.mark == "A")
            batch = next(one for one in drum.batches if one.uid == older.uid)
            seen[day] = (batch.stage, batch.place_uid == place.uid, place.empty, place.quarantined)
        assert seen == {
            0.5: ("filling", True, False, False),
            1.5: ("composting", True, False, False),
            3: ("composting", True, False, True),
            5: ("composting", False, True, True),
        }


# The whole drum -------------------------------------------------------------------------------------


def word(drum: Drum, state: str, **raw: object) -> DrumWord:
    return DrumWord.from_raw({"uid": uuid4(), "drum": drum.uid, "state": state} | raw)


def another_drum(here: Building, cast: Cast) -> Drum:
    drum: Drum = Drum.objects.create(building=here, site=cast.drum.site, number=2)
    for letter, shape in (("A", "circle"), ("B", "square")):
        Place.objects.create(
            building=here, kind="chamber", site=drum.site, drum=drum, letter=letter, shape=shape, litres=100
        )
    return drum


def test_out_of_use_asks_for_each_lot_and_for_its_households(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        with pytest.raises(Refused) as refused:
            word(cast.drum, "out_of_service")
        assert set(refused.value.errors) == {"households"}
        with pytest.raises(Refused) as refused:
            change_drum(told=word(cast.drum, "out_of_service", households="none"), **by(cast, here))
        assert set(refused.value.errors) == {f"to-{batch.uid}"}
        cast.drum.refresh_from_db()
        assert cast.drum.state == "in_service"


def test_out_of_use_moves_its_lots_and_lends_its_households_and_gets_them_back(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        other, batch = another_drum(here, cast), batch_in(here, cast, "A")
        assign(here, cast.neighbour.household, other)
        to = Place.objects.within(here).get(drum=other, letter="B")
        told = word(
            cast.drum, "out_of_service", reason="a broken axle", households=str(other.uid),
            contents=[{"batch": str(batch.uid), "to": str(to.uid)}],
        )  # fmt: skip
        row = change_drum(told=told, **by(cast, here, NOW + DAY))
        assert change_drum(told=told, **by(cast, here, NOW + DAY)).pk == row.pk
        assert (fresh(batch).stage, batch.place) == ("composting", to)
        assert StageChange.objects.within(here).filter(batch=batch, cause="retired").exists()
        assert set(Assignment.objects.within(here).values_list("drum__number", flat=True)) == {2}
        change_drum(told=word(cast.drum, "in_service", households="again"), **by(cast, here, NOW + 9 * DAY))
        lent = {row.household.label: row.drum.number for row in Assignment.objects.within(here)}
        assert lent == {"Flat 3": 1, "Flat 5": 2}  # the neighbour's own drum was the other one all along


def test_a_lot_may_wait_inside_and_a_rest_asks_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        change_drum(told=word(cast.drum, "paused"), **by(cast, here, NOW))
        assert fresh(batch).stage == "filling"
        assert drum_states(here)[0].open is None
        told = word(cast.drum, "out_of_service", households="none", contents=[{"batch": str(batch.uid), "to": "stays"}])
        change_drum(told=told, **by(cast, here, NOW + DAY))
        assert (fresh(batch).stage, batch.place) == ("composting", hatch(here, cast, "A"))
        assert not Movement.objects.within(here).exists()
        ((_, (then,)),) = gather_drums(here, NOW + dt.timedelta(hours=1))
        assert then.state == "paused"
