"""What a night writes: a proposal with its figures, once; refreshed, overtaken, never two."""

import datetime as dt
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from bins.decisions import night
from bins.decisions.settle import confirm
from bins.models import Decision
from coordinator.jobs.run import run_due
from households.models import Job
from households.tenancy import inside
from tests.cast import NOW, Cast

from .scenes import DAY, FIRST_NIGHT, HOUR, fill_to_the_mark, set_quarantine, visit

pytestmark = pytest.mark.embedded


def decisions(cast: Cast) -> list[Decision]:
    with inside(cast.building.uid) as here:
        return [*Decision.objects.within(here).select_related("batch", "next_place").order_by("made_at", "pk")]


def states(cast: Cast) -> list[tuple[str, str]]:
    return [(one.reason, one.state) for one in decisions(cast)]


@pytest.mark.parametrize(
    ("levels", "proposes"),
    [
        ([("three_quarters", True)], False),  # not seen again
        ([("three_quarters", True), ("half", False)], False),  # it sank
        ([("three_quarters", False), ("three_quarters", False)], False),  # never after a turn
        ([("three_quarters", True), ("three_quarters", False)], True),
    ],
)
def test_a_hatch_seen_full_after_a_turn_and_again_is_proposed_to_close(
    cast: Cast, levels: list[tuple[str, bool]], proposes: bool
) -> None:
    for number, (level, turned) in enumerate(levels):
        visit(cast.building, cast.drum, NOW + number * HOUR, level, turned=turned)
    run_due(FIRST_NIGHT)
    assert len(decisions(cast)) == proposes


def test_a_proposal_says_what_and_why_and_the_figures_it_rests_on(cast: Cast) -> None:
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT)
    (one,) = decisions(cast)
    assert (one.state, one.rule, one.reason, one.from_stage, one.to_stage) == (
        "proposed",
        "2-close",
        "level_at_mark",
        "filling",
        "composting",
    )
    assert one.next_place is not None
    assert (one.next_place.letter, one.made_at) == ("B", FIRST_NIGHT)
    assert one.figures == {"days_open": 0, "longest_fill_days": 60, "close_mark_percent": 75, "level_percent": 75}


def test_the_next_night_refreshes_the_figures_and_proposes_nothing_new(cast: Cast) -> None:
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT)
    visit(cast.building, cast.drum, FIRST_NIGHT + 6 * HOUR, "full")
    run_due(FIRST_NIGHT + DAY)
    (one,) = decisions(cast)
    assert (one.figures["days_open"], one.figures["level_percent"]) == (1, 100)
    assert (one.made_at, one.figures_at) == (FIRST_NIGHT, FIRST_NIGHT + DAY)


def test_the_same_night_run_twice_changes_nothing(cast: Cast) -> None:
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT)
    before = [*map(vars, decisions(cast))]
    with inside(cast.building.uid) as here:
        again = night.gather(here, FIRST_NIGHT)
        night.apply(here, night.decide(again), FIRST_NIGHT, uuid4())
    after = [*map(vars, decisions(cast))]
    for one in (*before, *after):
        del one["_state"]
    assert before == after


def test_another_outcome_overtakes_the_proposal_and_stands_in_its_place(cast: Cast) -> None:
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT)
    set_quarantine(cast.building, cast.drum, "B")
    run_due(FIRST_NIGHT + DAY)
    assert states(cast) == [("level_at_mark", "overtaken"), ("no_empty_place", "proposed")]
    assert decisions(cast)[1].next_place is None


def test_a_proposal_that_no_longer_holds_is_overtaken_by_nothing(cast: Cast) -> None:
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT)
    visit(cast.building, cast.drum, FIRST_NIGHT + 6 * HOUR, "half")
    run_due(FIRST_NIGHT + DAY)
    assert states(cast) == [("level_at_mark", "overtaken")]


def test_a_missed_night_leaves_alone_what_was_proposed_since(cast: Cast) -> None:
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT)
    # The nights stand still for three days. On the third, somebody answers and is shown another outcome.
    set_quarantine(cast.building, cast.drum, "B")
    asked = FIRST_NIGHT + 2 * DAY + 12 * HOUR
    with inside(cast.building.uid) as here:
        instead = confirm(building=here, uid=decisions(cast)[0].uid, person=None, via="web", now=asked).instead
    assert instead is not None
    set_quarantine(cast.building, cast.drum, "B", shut=False)
    with inside(cast.building.uid) as here:
        for day in (FIRST_NIGHT + DAY, FIRST_NIGHT + 2 * DAY):
            night.apply(here, night.decide(night.gather(here, day)), day, uuid4())
            night.apply(here, (), day, uuid4())
    assert states(cast) == [("level_at_mark", "overtaken"), ("no_empty_place", "proposed")]
    run_due(asked + DAY)
    assert [state for _, state in states(cast)] == ["overtaken", "overtaken", "proposed"]


def test_the_database_refuses_a_second_open_proposal_for_a_batch_and_rule(cast: Cast) -> None:
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT)
    (one,) = decisions(cast)
    with inside(cast.building.uid):
        one.pk, one.uid = None, uuid4()
        with pytest.raises(IntegrityError), transaction.atomic():
            one.save(force_insert=True)
        one.state, one.settled_at = "overtaken", NOW
        one.save(force_insert=True)


def test_a_night_of_the_past_reads_only_what_counted_by_then(cast: Cast) -> None:
    visit(cast.building, cast.drum, NOW, "three_quarters")
    visit(cast.building, cast.drum, FIRST_NIGHT + dt.timedelta(seconds=1), "three_quarters", turned=False)
    with inside(cast.building.uid) as here:
        assert night.decide(night.gather(here, FIRST_NIGHT)) == ()
        assert len(night.decide(night.gather(here, FIRST_NIGHT + DAY))) == 1
        assert Job.objects.filter(building=here, name="night").count() == 1
