"""A drum whose hatches turn by themselves: which one was turned, which one is due, what it means for readings."""

import datetime as dt
from collections.abc import Iterator
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, transaction

from bins.care.due import work_due
from bins.care.history import history
from bins.care.turning import Turning, set_turning
from bins.care.visit import CareVisit
from bins.decisions.gather import gather_drums
from bins.decisions.settle import confirm
from bins.forecasts.ahead import turn_every_days
from bins.forecasts.books import lots_at_end_of
from bins.models import Batch, Drum, Visit
from bins.months.figures import month
from bins.permits.period_log import Kind, period_log
from bins.process.snapshot import BatchSnapshot
from bins.records import Refused
from households.models import Audit, Building
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, by, hang_tag, hatch, put_in, visit
from tests.bins.care.test_whats_wrong import open_trouble, told
from tests.bins.sheets.test_importing import bring
from tests.cast import NOW, Cast
from tests.filled import go_outside

pytestmark = pytest.mark.embedded


@pytest.fixture
def here(cast: Cast) -> Iterator[Building]:
    """Inside a building whose drum turns apart: A is composting, B is open."""
    with inside(cast.building.uid) as building:
        turn_as(cast, building, "apart")
        put_in(building, batch_in(building, cast, "A"), "composting", NOW)
        hang_tag(cast, building, hatch(building, cast, "B"), NOW)
        yield building


def turn_as(cast: Cast, here: Building, how: str) -> Drum:
    told = Turning.from_raw({"uid": uuid4(), "drum": cast.drum.uid, "turns": how})
    return set_turning(told=told, **by(cast, here))


def due(cast: Cast, here: Building, now: dt.datetime) -> list[tuple[str, int | None]]:
    turning = work_due(here, now)[cast.drum.uid].turning
    return [(turn.place.letter if turn.place else "", turn.days_ago) for turn in turning]


def seen(cast: Cast, here: Building, batch: Batch, now: dt.datetime) -> BatchSnapshot:
    [(_site, (drum,))] = gather_drums(here, now)
    return next(one for one in drum.batches if one.uid == batch.uid)


def uid_of(cast: Cast, here: Building, letter: str) -> UUID:
    return hatch(here, cast, letter).uid


@pytest.mark.parametrize(("days", "letters"), [(2, []), (3, ["A", "B"])])
def test_the_open_hatch_and_the_one_that_works_are_each_due_every_third_day(
    cast: Cast, here: Building, days: int, letters: list[str]
) -> None:
    assert due(cast, here, NOW + days * DAY) == [(letter, None) for letter in letters]


@pytest.mark.parametrize(("days", "letters"), [(6, ["B"]), (7, ["A", "B"]), (8, ["A", "B"])])
def test_a_hatch_that_cures_is_due_weekly(cast: Cast, here: Building, days: int, letters: list[str]) -> None:
    put_in(here, batch_in(here, cast, "A"), "curing", NOW)
    assert [letter for letter, _ago in due(cast, here, NOW + days * DAY)] == letters


def test_a_finished_hatch_and_an_empty_one_are_never_due(cast: Cast, here: Building) -> None:
    batch = put_in(here, batch_in(here, cast, "A"), "ready", NOW)
    assert [letter for letter, _ago in due(cast, here, NOW + 60 * DAY)] == ["B"]
    put_in(here, batch, "harvested", NOW + DAY)
    assert [letter for letter, _ago in due(cast, here, NOW + 60 * DAY)] == ["B"]


def test_turning_one_hatch_leaves_the_other_due(cast: Cast, here: Building) -> None:
    visit(cast, here, NOW + 3 * DAY, turned_place=uid_of(cast, here, "A"))
    assert due(cast, here, NOW + 4 * DAY) == [("B", None)]
    visit(cast, here, NOW + 4 * DAY, turned_place=uid_of(cast, here, "B"))
    assert due(cast, here, NOW + 5 * DAY) == []
    assert due(cast, here, NOW + 6 * DAY) == [("A", 3)]
    visit(cast, here, NOW + 6 * DAY)  # all of it
    assert due(cast, here, NOW + 8 * DAY) == []


def test_a_hatch_that_stood_empty_is_not_due_on_the_day_it_opens(cast: Cast, here: Building) -> None:
    visit(cast, here, NOW)
    batch = put_in(here, batch_in(here, cast, "A"), "ready", NOW)
    put_in(here, batch, "harvested", NOW + 30 * DAY)
    put_in(here, batch_in(here, cast, "B"), "composting", NOW + 40 * DAY)
    hang_tag(cast, here, hatch(here, cast, "A"), NOW + 40 * DAY)
    assert [letter for letter, _ago in due(cast, here, NOW + 42 * DAY)] == ["B"]
    assert [letter for letter, _ago in due(cast, here, NOW + 43 * DAY)] == ["A", "B"]


def test_a_reading_is_after_a_turn_only_where_its_own_hatch_was_turned(cast: Cast, here: Building) -> None:
    a, b = batch_in(here, cast, "A"), batch_in(here, cast, "B")
    heat = [{"batch": str(one.uid), "temperature": "30"} for one in (a, b)]
    visit(cast, here, NOW + DAY, turned_place=uid_of(cast, here, "A"), level="half", readings=heat)
    now = NOW + 2 * DAY
    assert [t.turned for t in seen(cast, here, a, now).temperatures] == [True]
    assert [t.turned for t in seen(cast, here, b, now).temperatures] == [False]
    assert [level.turned for level in seen(cast, here, b, now).levels] == [False]
    assert (seen(cast, here, a, now).turned_at, seen(cast, here, b, now).turned_at) == (NOW + DAY, None)
    told = {batch.pk: [event.turned for event in history(here, batch) if event.kind == "visit"] for batch in (a, b)}
    assert told == {a.pk: [True], b.pk: [False]}


def test_a_drum_that_turns_together_keeps_no_hatch(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = visit(cast, here, turned_place=uid_of(cast, here, "A"))
        assert (row.turned, row.turned_place) == (True, None)


def test_what_was_turned_before_the_setting_changed_means_what_it_meant(cast: Cast, here: Building) -> None:
    visit(cast, here, NOW + DAY, turned_place=uid_of(cast, here, "A"))
    turn_as(cast, here, "together")
    assert due(cast, here, NOW + 3 * DAY) == []  # somebody turned it two days ago
    turn_as(cast, here, "apart")
    assert due(cast, here, NOW + 3 * DAY) == [("B", None)]


def test_a_hatch_of_another_drum_or_none_turned_is_refused(cast: Cast, here: Building) -> None:
    with pytest.raises(Refused) as refused:
        visit(cast, here, turned_place=cast.elsewhere_drum.uid)
    assert set(refused.value.errors) == {"turned_place"}
    raw = {"uid": uuid4(), "drum": cast.drum.uid, "turned": "no", "turned_place": uid_of(cast, here, "A")}
    with pytest.raises(Refused) as refused:
        CareVisit.from_raw(raw)
    assert set(refused.value.errors) == {"turned_place"}
    assert not Visit.objects.within(here).exists()


def test_one_visit_with_one_hatch_turned_is_one_turn_of_the_month(cast: Cast, here: Building) -> None:
    visit(cast, here, NOW, turned_place=uid_of(cast, here, "A"))
    visit(cast, here, NOW + DAY)
    told = month(here, NOW.date().replace(day=1))
    assert (told.visits, told.turns) == (2, 2)


def test_a_drum_split_along_its_axle_turns_only_together(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Drum.objects.within(here).filter(uid=cast.drum.uid).update(split="along")
        with pytest.raises(Refused) as refused:
            turn_as(cast, here, "apart")
        assert set(refused.value.errors) == {"turns"}
        with pytest.raises(IntegrityError, match="drum_along_turns_whole"), transaction.atomic():
            Drum.objects.within(here).filter(uid=cast.drum.uid).update(turns="apart")


def test_saying_how_it_turns_twice_is_noted_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert turn_as(cast, here, "apart").turns == "apart"
        turn_as(cast, here, "apart")
        assert Audit.objects.within(here).filter(act="drum-turning-set").count() == 1


def test_the_database_keeps_no_turned_hatch_where_nothing_was_turned(cast: Cast, here: Building) -> None:
    row = visit(cast, here, turned="no")
    row.pk = None
    row.uid, row.turned_place, row.ledger_number = uuid4(), hatch(here, cast, "A"), row.ledger_number + 1000
    with pytest.raises(IntegrityError, match="visit_turned_place_turned"), transaction.atomic():
        row.save(force_insert=True)


def test_the_log_of_a_period_names_the_hatch_that_was_turned(cast: Cast, here: Building) -> None:
    visit(cast, here, NOW, turned_place=uid_of(cast, here, "B"))
    visit(cast, here, NOW)
    day = here.local(NOW).date()
    assert [line.hatch for line in period_log(here, day, day).lines if line.kind is Kind.VISIT] == ["B", ""]


def test_a_lots_forecast_knows_the_turns_of_its_own_hatch(cast: Cast, here: Building) -> None:
    a, b = batch_in(here, cast, "A"), batch_in(here, cast, "B")
    visit(cast, here, NOW + DAY, turned_place=uid_of(cast, here, "A"), level="half")
    visit(cast, here, NOW + 2 * DAY)
    lots = {lot.batch.pk: lot for lot in lots_at_end_of(here, here.local(NOW + 3 * DAY).date(), NOW + 3 * DAY)}
    assert lots[a.pk].history.turns == (NOW + DAY, NOW + 2 * DAY)
    assert lots[b.pk].history.turns == (NOW + 2 * DAY,)
    assert [level.turned for level in lots[b.pk].history.levels] == [False]
    assert {turn_every_days(lot) for lot in lots.values()} == {3}, "a lot that works is moved by no other"


def test_a_sheets_row_that_names_a_hatch_turned_that_one(cast: Cast, here: Building) -> None:
    go_outside()
    sheet = "date,time,drum,hatch,turned\n2026-05-04,17:50,1,A,yes\n2026-05-04,17:51,1,,yes\n2026-05-04,17:52,1,B,no\n"
    assert bring(cast, "visits", sheet).added == 3
    with inside(cast.building.uid) as again:
        rows = Visit.objects.within(again).order_by("counts_at")
        told = [(row.turned, row.turned_place.letter if row.turned_place else "") for row in rows]
    assert told == [(True, "A"), (True, ""), (False, "")]


def test_a_remedy_that_says_turn_it_turned_the_hatch_in_trouble_alone(cast: Cast, here: Building) -> None:
    a = batch_in(here, cast, "A")
    visit(cast, here, NOW + DAY, turned="no", readings=told(a, "matted"))
    confirm(building=here, uid=open_trouble(here)[0].uid, person=cast.caretaker, via="web", now=NOW + DAY)
    assert Visit.objects.within(here).get(turned=True).turned_place == hatch(here, cast, "A")
