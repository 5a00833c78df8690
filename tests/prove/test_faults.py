"""Nights and letters killed at every moment, on both databases: they end as if nothing had happened.

Run by `sh deploy/prove faults`: on PostgreSQL, and from there once more on SQLite.
"""

import json
import os
import subprocess
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from tests.coordinator.jobs.databases import copy_of_the_test_database
from tests.coordinator.jobs.forks import find
from tests.coordinator.jobs.scenes import SCENES
from tests.coordinator.jobs.test_kill import LEFT
from tests.running import CHECKOUT

from .record import record

pytestmark = pytest.mark.proof

PLAN = {
    "points": list(LEFT),
    "nth": [1, 2],  # the first and the second time that a point is passed
    "most_moments": 40,  # spread over all moments before and after a statement, a commit or a mail
    "random": 12,
}
ONE_MORE = 1  # one kill can send one letter twice
# The nested run on SQLite leaves its findings in the file that this names.
FINDINGS = "FAULTS_FINDINGS"
ROOM = ["coordinator/jobs", "coordinator/digest.py", "bins/decisions", "households/models/job.py"]


def judge(scene: str, found: dict[str, Any]) -> dict[str, Any]:
    """The figures of one scene. AssertionError where a trial ended unlike the undisturbed run."""
    calm, trials = found["calm"], found["trials"]
    wrong = [trial for trial in trials if trial["digest"] != calm["digest"] or trial["jobs"] != _tried(trial, calm)]
    assert wrong == [], f"{scene}: {len(wrong)} of {len(trials)} ended otherwise"
    letters = [trial["letters"] for trial in trials]
    assert min(letters) >= calm["letters"], f"{scene}: a letter was lost"
    assert max(letters) <= calm["letters"] + ONE_MORE, f"{scene}: a letter went out more than twice"
    killed = Counter(_kind(trial) for trial in trials if trial["killed"])
    return {
        "trials": len(trials),
        "killed": dict(killed),
        "moments": calm["moments"],
        "left_half_done": sum(["running", 1] in trial["left"]["jobs"] for trial in trials),
        "sent_twice": sum(trial["letters"] > calm["letters"] for trial in trials),
        "ended_otherwise": 0,
    }


def _tried(trial: dict[str, Any], calm: dict[str, Any]) -> list[Any]:
    """All done, and at most one of them at the second attempt."""
    again = sum(attempts == 2 for _, attempts in trial["jobs"]) - sum(attempts == 2 for _, attempts in calm["jobs"])
    assert again in (0, 1)
    return sorted(["done", attempts] for attempts in [*[1] * (len(calm["jobs"]) - again), *[2] * again])


def _kind(trial: dict[str, Any]) -> str:
    if "point" in trial:
        return "at a named point"
    return "beside a statement, commit or mail" if "moment" in trial else "at a random time"


@pytest.mark.proof
def test_whatever_moment_a_night_is_killed_at_it_ends_like_an_undisturbed_one(
    transactional_db: None, tmp_path: Path
) -> None:
    vendor = connection.vendor
    with copy_of_the_test_database(tmp_path) as base, ThreadPoolExecutor(os.cpu_count() or 1) as threads:

        def play(scene: str) -> dict[str, Any]:
            folder = tmp_path / scene.replace(" ", "-").replace(",", "")
            folder.mkdir()
            plan = {**PLAN, "scene": scene, "seed": len(scene)}
            return judge(scene, find("faults", plan, vendor=vendor, base=base, folder=folder, timeout=1200))

        figures = dict(zip(SCENES, threads.map(play, SCENES), strict=True))
    if where := os.environ.get(FINDINGS):
        Path(where).write_text(json.dumps(figures))
        return
    both = {vendor: figures}
    if vendor != "sqlite":
        both["sqlite"] = _on_sqlite(tmp_path / "findings.json")
    scenes = [scene for figures in both.values() for scene in figures.values()]
    injected = sum((Counter(scene["killed"]) for scene in scenes), Counter())
    record("faults", ROOM, sum(scene["trials"] for scene in scenes), injected, both)
    assert set(both) == {"postgresql", "sqlite"}, "measured on one database alone"


def _on_sqlite(findings: Path) -> dict[str, Any]:
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-m", "proof", "-p", "no:cacheprovider", __file__],
        cwd=CHECKOUT,
        env={**environment, FINDINGS: str(findings)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-4000:]
    figures: dict[str, Any] = json.loads(findings.read_text())
    return figures
