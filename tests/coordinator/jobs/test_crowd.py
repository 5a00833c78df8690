"""Four processes and 400 jobs."""

from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from .databases import copy_of_the_test_database
from .forks import find

pytestmark = pytest.mark.embedded


def crowd(folder: Path, **plan: Any) -> Any:
    with copy_of_the_test_database(folder) as base:
        return find("crowd", plan, vendor=connection.vendor, base=base, folder=folder)


def test_each_of_400_jobs_runs_exactly_once_while_four_processes_want_them(
    transactional_db: None, tmp_path: Path
) -> None:
    found = crowd(tmp_path, jobs=400, processes=4, guard=True)
    assert (found["once"], found["more"], found["undone"]) == (400, 0, 0)
    assert sum(one["ran"] for one in found["processes"]) == 400
    assert sum(one["ran"] > 0 for one in found["processes"]) > 1, "only one of them worked: no race"


def test_a_claim_that_reads_and_then_saves_runs_jobs_twice(transactional_db: None, tmp_path: Path) -> None:
    found = crowd(tmp_path, jobs=40, processes=4, guard=False)
    assert found["more"] > 0
