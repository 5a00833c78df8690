"""A night that is killed at ten points: what is left, and that the next worker ends it alike."""

from pathlib import Path

import pytest
from django.db import connection

from .databases import copy_of_the_test_database
from .forks import find

pytestmark = pytest.mark.embedded

# What the killed process leaves of the two nights of the scene: (state, attempts), and how many proposals.
UNTOUCHED = ([["due", 0], ["due", 0]], 0)
HELD = ([["due", 0], ["running", 1]], 0)
ENDED = ([["done", 1], ["due", 0]], 1)
LEFT = {
    "before the claim": UNTOUCHED,
    "inside the claim's transaction": UNTOUCHED,
    "after the claim": HELD,
    "during gather": HELD,
    "after gather": HELD,
    "during decide": HELD,
    "after decide": HELD,
    "inside apply, after the first write": HELD,
    "before mark_done": HELD,
    "after the commit": ENDED,
}


def test_a_night_killed_at_ten_points_ends_like_an_undisturbed_one(transactional_db: None, tmp_path: Path) -> None:
    with copy_of_the_test_database(tmp_path) as base:
        found = find(
            "faults",
            {"scene": "both blocks full", "points": list(LEFT), "nth": [1]},
            vendor=connection.vendor,
            base=base,
            folder=tmp_path,
        )
    assert found["calm"]["decisions"] == 2
    assert {trial["point"]: trial["killed"] for trial in found["trials"]} == dict.fromkeys(LEFT, True)
    assert {trial["point"]: (trial["left"]["jobs"], trial["left"]["decisions"]) for trial in found["trials"]} == LEFT
    assert {trial["point"]: trial["digest"] for trial in found["trials"]} == dict.fromkeys(
        LEFT, found["calm"]["digest"]
    )


# Between the solver's answer and its row: what is left of the plan's job, and of the building's night.
PLAN_LEFT = {
    "after gather": ["running", 1],
    "after decide": ["running", 1],
    "before mark_done": ["running", 1],
    "after the commit": ["done", 1],
}


def test_a_plan_killed_before_it_is_kept_is_worked_out_again_and_comes_out_alike(
    transactional_db: None, tmp_path: Path
) -> None:
    with copy_of_the_test_database(tmp_path) as base:
        found = find(
            "faults",
            {"scene": "a plan asked for", "points": list(PLAN_LEFT), "nth": [1]},
            vendor=connection.vendor,
            base=base,
            folder=tmp_path,
        )
    assert {trial["point"]: trial["killed"] for trial in found["trials"]} == dict.fromkeys(PLAN_LEFT, True)
    assert {trial["point"]: trial["left"]["jobs"] for trial in found["trials"]} == {
        point: [job] for point, job in PLAN_LEFT.items()
    }
    assert {trial["digest"] for trial in found["trials"]} == {found["calm"]["digest"]}
