"""A person's word against the rules: close now, open, one step back, finished by a name and a reason."""

from uuid import uuid4

import pytest

from bins.care.stepping import Step, say_finished
from bins.intake.dropoff import undo_drop_off
from bins.models import Batch, Contribution, Decision, StageChange
from bins.records import Refused
from households.ledger import UidReused
from households.tenancy import inside
from tests.bins.care.caring import DAY, back, batch_in, by, close, fresh, hang_tag, hatch, override, pail, put_in
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def test_the_caretakers_word_closes_one_hatch_and_opens_the_next(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        decision = close(cast, here, batch, NOW + DAY)
        assert (fresh(batch).stage, batch_in(here, cast, "B").stage) == ("composting", "filling")
        assert (decision.state, decision.reason, decision.settled_by) == ("applied", "caretaker_closes", cast.caretaker)


def test_what_isnt_open_cannot_be_closed(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        close(cast, here, batch)
        with pytest.raises(Refused):
            close(cast, here, batch)


def test_a_wrong_close_is_undone_while_the_next_hatch_is_empty_and_no_day_is_lost(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        first = batch_in(here, cast, "A")
        close(cast, here, first, NOW + DAY)
        second = batch_in(here, cast, "B")
        change = back(cast, here, first, NOW + 2 * DAY)
        assert (fresh(first).stage, first.closed_at, change.cause) == ("filling", None, "undone")
        assert (fresh(second).stage, second.merged_into, second.place) == ("merged", first, None)
        # A slip told late, of the hours while the other one was open, belongs to the one that goes on.
        row = pail(cast, here, NOW + 3 * DAY, happened_at=(NOW + 1.5 * DAY).isoformat())
        assert row.batch == first


def test_it_stays_closed_once_scraps_went_into_the_next(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        first = batch_in(here, cast, "A")
        close(cast, here, first, NOW + DAY)
        pail(cast, here, NOW + 2 * DAY)
        with pytest.raises(Refused):
            back(cast, here, first, NOW + 3 * DAY)
        assert fresh(first).stage == "composting"


def test_a_pail_that_was_taken_back_does_not_stand_in_the_way(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        first = batch_in(here, cast, "A")
        close(cast, here, first, NOW + DAY)
        row = pail(cast, here, NOW + 2 * DAY)
        undo_drop_off(building=here, row=row, person=cast.resident, via="web", now=NOW + 2 * DAY)
        back(cast, here, first, NOW + 3 * DAY)
        assert fresh(first).stage == "filling"
        assert Contribution.objects.within(here).count() == 2


def test_one_step_back_keeps_the_days_counted_so_far(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = put_in(here, batch_in(here, cast, "A"), "composting", NOW + DAY)
        put_in(here, batch, "curing", NOW + 60 * DAY)
        change = back(cast, here, batch, NOW + 61 * DAY)
        assert (fresh(batch).stage, change.cause, change.reason) == ("composting", "back", "a slip")
        assert change.counts_from == NOW + DAY


def test_an_open_lot_cannot_go_back(cast: Cast) -> None:
    with inside(cast.building.uid) as here, pytest.raises(Refused):
        back(cast, here, batch_in(here, cast, "A"))


def test_the_same_step_twice_is_one_and_with_another_reason_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = put_in(here, batch_in(here, cast, "A"), "composting", NOW + DAY)
        put_in(here, batch, "curing", NOW + 60 * DAY)
        uid = uuid4()
        assert back(cast, here, batch, NOW + 61 * DAY, uid).pk == back(cast, here, batch, NOW + 62 * DAY, uid).pk
        with pytest.raises(UidReused):
            say_finished(told=Step(uid, batch.uid, "another"), **by(cast, here, NOW + 62 * DAY))


def test_finished_by_a_persons_word_keeps_reason_and_name_and_overtakes_open_questions(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = put_in(here, batch_in(here, cast, "A"), "curing", NOW + DAY)
        asked = Decision.objects.create(
            building=here, batch=batch, rule="6-ready", version="x", from_stage="curing", to_stage="ready",
            reason="cured_and_tested", made_at=NOW, figures_at=NOW,
        )  # fmt: skip
        change = override(cast, here, batch, NOW + 2 * DAY)
        asked.refresh_from_db()
        assert (fresh(batch).stage, change.cause, change.reason) == ("ready", "override", "it smells of forest")
        assert change.attribution.person == cast.caretaker
        assert asked.state == "overtaken"


@pytest.mark.parametrize("stage", ["filling", "composting", "ready"])
def test_only_what_rests_can_be_called_finished(cast: Cast, stage: str) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        if stage != "filling":
            put_in(here, batch, stage, NOW + DAY)
        with pytest.raises(Refused):
            override(cast, here, batch, NOW + 2 * DAY)


def test_a_reason_is_asked_for() -> None:
    with pytest.raises(Refused) as refused:
        Step.from_raw({"uid": uuid4(), "batch": uuid4(), "reason": "  "})
    assert set(refused.value.errors) == {"reason"}


def test_the_tag_is_hung_on_an_empty_hatch_where_nothing_is_open_and_only_there(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        place = hatch(here, cast, "B")
        with pytest.raises(Refused):  # A is open
            hang_tag(cast, here, place)
        put_in(here, batch_in(here, cast, "A"), "composting", NOW + DAY)
        with pytest.raises(Refused):  # it isn't empty
            hang_tag(cast, here, hatch(here, cast, "A"))
        change = hang_tag(cast, here, place, NOW + 2 * DAY)
        assert (change.cause, change.from_stage) == ("begun", "")
        assert Batch.objects.within(here).filter(stage="filling").get().place == place
        assert StageChange.objects.within(here).filter(cause="begun").count() == 2
