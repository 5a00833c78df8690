"""A problem that contradicts itself is not taken."""

from datetime import date
from typing import Any

import pytest

from households.rota.problem import Cell, Existing, Household, Problem, Task

from .instances import household, task, uid


@pytest.mark.parametrize("wrong", [{"minutes": 0}, {"least": -1}, {"least": 3}, {"least": 0, "usual": 0}])
def test_a_task_has_minutes_and_room(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="minutes are 1 or more"):
        Task(**{"uid": uid(1), "day": date(2026, 5, 4), "minutes": 10} | wrong)


@pytest.mark.parametrize("wrong", [{"days_present": -1}, {"done_minutes": -1}, {"due_seconds": -1}, {"least": -1}])
def test_a_household_has_no_negative_numbers(wrong: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="0 or more"):
        Household(**{"uid": uid(1), "days_present": 1} | wrong)  # type: ignore[arg-type]


def test_a_household_may_get_as_many_as_it_must_and_no_fewer() -> None:
    assert Household(uid(1), 1, least=2, most=2).most == 2
    with pytest.raises(ValueError, match="not below its least"):
        Household(uid(1), 1, least=2, most=1)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"tasks": (task(0), task(0))}, "appears once"),
        ({"households": (household(0), household(0))}, "appears once"),
        ({"pins": frozenset({Cell(uid(1), uid(7))})}, "isn't there"),
        ({"forbids": frozenset({Cell(uid(7), uid(1000))})}, "isn't there"),
        ({"pins": frozenset({Cell(uid(1), uid(1000))}), "forbids": frozenset({Cell(uid(1), uid(1000))})}, "pinned and"),
        ({"existing": Existing(frozenset(), frozenset({uid(7)}))}, "a frozen task"),
        ({"days_apart": -1}, "0 to 7"),
        ({"days_apart": 8}, "0 to 7"),
    ],
)
def test_a_problem_names_what_it_has_once_and_nothing_else(wrong: dict[str, Any], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        Problem(**{"tasks": (task(0),), "households": (household(0),)} | wrong)
