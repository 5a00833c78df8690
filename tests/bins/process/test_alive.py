"""What asks for a visit: before, at and after each edge, and the order."""

from dataclasses import replace

import pytest

from bins.process.alive import Need, Signs, is_alive, needs, rank

WELL = Signs(
    days_of_record=200,
    drums_in_use=2,
    open_hatches=2,
    days_since_drop_off=1,
    days_since_visit=2,
    late_reports=0,
    oldest_task_days=0,
)


def test_where_all_is_well_nothing_asks_for_a_visit() -> None:
    assert (needs(WELL), rank(needs(WELL)), is_alive(WELL)) == ((), 0, True)


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"late_reports": 1}, Need.LATE_REPORT),
        ({"open_hatches": 0}, Need.FULL),
        ({"days_since_visit": 13}, None),
        ({"days_since_visit": 14}, Need.NO_VISIT),
        ({"oldest_task_days": 6}, None),
        ({"oldest_task_days": 7}, Need.OLD_TASK),
        ({"oldest_task_days": None}, None),
        ({"days_since_drop_off": 20}, None),
        ({"days_since_drop_off": 21}, Need.SILENT),
        ({"days_since_drop_off": None}, Need.SILENT),
        ({"days_since_drop_off": None, "days_of_record": 20}, None),
        ({"days_since_visit": None, "days_of_record": 13}, None),
        ({"days_since_visit": None, "days_of_record": 14}, Need.NO_VISIT),
    ],
)
def test_each_need_begins_at_its_edge(change: dict[str, int | None], found: Need | None) -> None:
    assert needs(replace(WELL, **change)) == (() if found is None else (found,))  # type: ignore[arg-type]


@pytest.mark.parametrize(("days", "alive"), [(20, True), (21, False), (None, False)])
def test_alive_is_a_drop_off_in_three_weeks(days: int | None, alive: bool) -> None:
    # WRAP 2010, by way of LARAC: one drop-off in three opportunities; an opportunity is taken as a week.
    assert is_alive(replace(WELL, days_since_drop_off=days)) is alive


def test_drums_that_rest_ask_only_for_an_answer() -> None:
    resting = replace(WELL, drums_in_use=0, open_hatches=0, days_since_visit=90, days_since_drop_off=90)
    assert needs(resting) == ()
    assert needs(replace(resting, late_reports=2)) == (Need.LATE_REPORT,)


def test_the_most_pressing_need_decides_whatever_else_there_is() -> None:
    order = list(Need)
    for place, need in enumerate(order[:-1]):
        assert rank((need,)) > rank(tuple(order[place + 1 :])) > 0
