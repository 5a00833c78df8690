"""Runs of the machine: as the product is, or with a fault in it."""

from collections.abc import Iterable

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from .faults import Fault, put_in
from .house import House
from .machine import Household


def play(house: House, runs: int, steps: int, *, shrink: bool = False, start: int | None = None) -> None:
    """So many runs of so many steps; the same ones each time, or those that `start` leads to."""

    def fresh() -> Household:
        return Household(house)

    phases = [Phase.generate, Phase.shrink] if shrink else [Phase.generate]
    run_state_machine_as_test(
        fresh if start is None else seed(start)(fresh),
        settings=settings(
            max_examples=runs, stateful_step_count=steps, deadline=None, database=None, derandomize=start is None,
            report_multiple_bugs=False, phases=phases, suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip


def is_caught(house: House, fault: Fault, runs: int, steps: int) -> bool:
    """Whether so many runs see that something is wrong."""
    with put_in(fault):
        try:
            with transaction.atomic():
                play(house, runs, steps)
        except (Exception, pytest.fail.Exception):  # the second: something that had to be refused was not
            return True
    return False


def caught(house: House, faults: Iterable[Fault], runs: int, steps: int) -> dict[str, bool]:
    return {fault.name: is_caught(house, fault, runs, steps) for fault in faults}
