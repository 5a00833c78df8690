"""A person answers a proposal: the tag moves once, in one piece, or nothing does."""

import datetime as dt
import threading
from collections.abc import Callable
from uuid import UUID, uuid4

import pytest
from django.db import connection

from bins.decisions.settle import Settled, confirm, decline
from bins.hatch import drum_states
from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Batch, Decision, StageChange, StageChangeAttribution
from coordinator.jobs.run import run_due
from coordinator.walls import ledger_models
from households.tenancy import inside
from tests.cast import Cast

from .scenes import DAY, FIRST_NIGHT, HOUR, fill_to_the_mark, set_quarantine, visit

pytestmark = pytest.mark.embedded
MORNING = FIRST_NIGHT + 5 * HOUR


def proposed(cast: Cast) -> UUID:
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT)
    return open_proposal(cast)


def open_proposal(cast: Cast) -> UUID:
    with inside(cast.building.uid) as here:
        uid: UUID = Decision.objects.within(here).proposed().get().uid
    return uid


def tag_moved(cast: Cast, uid: UUID, now: dt.datetime = MORNING) -> Settled:
    with inside(cast.building.uid) as here:
        return confirm(building=here, uid=uid, person=cast.caretaker, via="web", now=now)


def batches(cast: Cast) -> list[tuple[str, str]]:
    """(letter, stage) of every batch, by opening."""
    with inside(cast.building.uid) as here:
        found = Batch.objects.within(here).select_related("started_in").order_by("opened_at")
        return [(batch.started_in.letter, batch.stage) for batch in found]


def test_tag_moved_closes_the_one_and_opens_the_other_with_two_rows_in_the_books(cast: Cast) -> None:
    settled = tag_moved(cast, proposed(cast))
    assert settled.is_applied
    assert batches(cast) == [("A", "composting"), ("B", "filling")]
    with inside(cast.building.uid) as here:
        old, new = Batch.objects.within(here).order_by("opened_at")
        assert (old.closed_at, new.opened_at, new.closed_at) == (MORNING, MORNING, None)
        changes = StageChange.objects.within(here).filter(decision=settled.decision).order_by("ledger_number")
        assert [(c.batch_id, c.from_stage, c.to_stage, c.counts_at) for c in changes] == [
            (old.pk, "filling", "composting", MORNING),
            (new.pk, "", "filling", MORNING),
        ]
        who = StageChangeAttribution.objects.within(here).filter(row__in=changes)
        assert [one.person_id for one in who] == [cast.caretaker.pk] * 2
        decision = Decision.objects.within(here).get()
        assert (decision.state, decision.settled_at, decision.settled_by) == ("applied", MORNING, cast.caretaker)
        (drum,) = drum_states(here)
        assert drum.open is not None
        assert drum.open.place.letter == "B"


def test_answering_twice_gives_the_first_answer(cast: Cast) -> None:
    uid = proposed(cast)
    first, second = tag_moved(cast, uid), tag_moved(cast, uid, MORNING + HOUR)
    assert (first.is_applied, second.is_applied) == (True, True)
    assert second.decision.settled_at == MORNING
    with inside(cast.building.uid) as here:
        late = decline(building=here, uid=uid, person=cast.committee, now=MORNING + HOUR)
    assert late.decision.state == "applied"
    assert len(batches(cast)) == 2


def test_when_the_level_sank_nothing_moves_and_the_proposal_is_overtaken(cast: Cast) -> None:
    uid = proposed(cast)
    visit(cast.building, cast.drum, MORNING - HOUR, "half")
    settled = tag_moved(cast, uid)
    assert (settled.decision.state, settled.instead) == ("overtaken", None)
    assert batches(cast) == [("A", "filling")]


def test_when_the_outcome_is_another_both_are_shown_and_the_second_waits_for_its_own_answer(cast: Cast) -> None:
    uid = proposed(cast)
    set_quarantine(cast.building, cast.drum, "B")
    settled = tag_moved(cast, uid)
    assert settled.decision.state == "overtaken"
    assert settled.instead is not None
    assert (settled.instead.reason, settled.instead.state) == ("no_empty_place", "proposed")
    assert batches(cast) == [("A", "filling")]
    again = tag_moved(cast, uid, MORNING + HOUR)
    assert again.decision.state == "overtaken"
    assert open_proposal(cast) == settled.instead.uid


def test_without_an_empty_hatch_the_old_one_closes_and_the_site_is_full(cast: Cast) -> None:
    set_quarantine(cast.building, cast.drum, "B")
    assert tag_moved(cast, proposed(cast)).is_applied
    assert batches(cast) == [("A", "composting")]
    with inside(cast.building.uid) as here:
        (drum,) = drum_states(here)
        assert drum.open is None
        told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4})
        brought = record_drop_off(
            building=here, told=told, household=None, person=None, via="web", now=MORNING + HOUR
        ).row
    assert brought.batch is None, "brought all the same, so recorded"


def test_no_leaves_everything_and_the_same_is_not_asked_again_for_a_week(cast: Cast) -> None:
    uid = proposed(cast)
    with inside(cast.building.uid) as here:
        settled = decline(building=here, uid=uid, person=cast.caretaker, now=MORNING)
    assert (settled.decision.state, settled.decision.settled_by) == ("declined", cast.caretaker)
    assert batches(cast) == [("A", "filling")]
    asked = []
    for day in range(1, 9):
        run_due(FIRST_NIGHT + day * DAY)
        with inside(cast.building.uid) as here:
            asked.append(Decision.objects.within(here).proposed().count())
    assert asked == [0, 0, 0, 0, 0, 0, 0, 1]  # settled at 08:00: at 03:00 a week later it isn't yet a week


def test_a_decision_of_another_building_is_not_there(cast: Cast) -> None:
    uid = proposed(cast)
    with inside(cast.elsewhere.uid) as there, pytest.raises(Decision.DoesNotExist):
        confirm(building=there, uid=uid, person=cast.elsewhere_person, via="web", now=MORNING)


@pytest.mark.parametrize(
    ("happened", "letter"),
    [
        (MORNING - dt.timedelta(seconds=1), "A"),
        (MORNING, "B"),
        (MORNING + dt.timedelta(seconds=1), "B"),
    ],
)
def test_what_is_heard_late_counts_where_it_was_filling_when_it_happened(
    cast: Cast, happened: dt.datetime, letter: str
) -> None:
    tag_moved(cast, proposed(cast))
    heard = MORNING + 2 * DAY
    with inside(cast.building.uid) as here:
        told = DropOff.from_raw(
            {
                "uid": str(uuid4()),
                "drum": str(cast.drum.uid),
                "quarter_pails": 4,
                "happened_at": happened.isoformat(),
            }
        )
        row = record_drop_off(building=here, told=told, household=None, person=None, via="offline", now=heard).row
        assert row.batch is not None
        assert (row.batch.started_in.letter, row.heard_at) == (letter, heard)


def together(*acts: Callable[[], object]) -> list[object]:
    """Each in a thread and on a connection of its own, begun at once: what it gave, or raised."""
    barrier = threading.Barrier(len(acts))
    found: list[object] = [None] * len(acts)

    def do(number: int, act: Callable[[], object]) -> None:
        barrier.wait(10)
        try:
            found[number] = act()
        except Exception as error:
            found[number] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=do, args=one) for one in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    return found


def test_two_people_who_move_the_tag_at_once_make_one_change(cast_in_the_open: Cast) -> None:
    cast = cast_in_the_open
    uid = proposed(cast)
    found = together(*[lambda: tag_moved(cast, uid)] * 2)
    assert [isinstance(one, Settled) and one.is_applied for one in found] == [True, True], found
    assert batches(cast) == [("A", "composting"), ("B", "filling")]
    with inside(cast.building.uid) as here:
        # A begun, A closed, B begun; and each number in the books once.
        assert StageChange.objects.within(here).count() == 3
        here.refresh_from_db()
        written = [
            number
            for model in ledger_models()
            for number in model.objects.filter(building=here).values_list("ledger_number", flat=True)
        ]
        assert sorted(written) == [*range(1, here.ledger_number + 1)]
