"""Five hundred runs of fifty things that people do, and the hunt for twenty faults, on both databases.

Run by `sh deploy/prove ledger`: on PostgreSQL, and from there once more on SQLite.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from tests.ledger.faults import FAULTS
from tests.ledger.house import House, found_house
from tests.ledger.hunt import caught, play
from tests.running import CHECKOUT

from .record import record

pytestmark = pytest.mark.proof
RUNS, STEPS = 500, 50
HUNT_RUNS, HUNT_STEPS = 120, 30
LEAST_CAUGHT = 18
FINDINGS = "LEDGER_FINDINGS"  # the nested run on SQLite leaves its findings in the file that this names


@pytest.fixture
def house(db: None) -> House:
    return found_house()


def test_the_books_say_what_a_tally_by_hand_says_and_twenty_faults_are_caught(house: House, tmp_path: Path) -> None:
    play(house, RUNS, STEPS, shrink=True)
    found = caught(house, FAULTS, HUNT_RUNS, HUNT_STEPS)
    print(f"caught {sum(found.values())} of {len(found)}; not: {[name for name, seen in found.items() if not seen]}")
    assert sum(found.values()) >= LEAST_CAUGHT
    figures = {"runs": RUNS, "steps": STEPS, "caught": sum(found.values()), "faults": found}
    if where := os.environ.get(FINDINGS):
        Path(where).write_text(json.dumps(figures))
        return
    both = {connection.vendor: figures}
    if connection.vendor != "sqlite":
        both["sqlite"] = on_sqlite(tmp_path / "findings.json")
    record("ledger", ["bins", "households"], RUNS * len(both), {name: int(seen) for name, seen in found.items()}, both)
    assert set(both) == {"postgresql", "sqlite"}, "measured on one database alone"


def on_sqlite(findings: Path) -> dict[str, object]:
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
    figures: dict[str, object] = json.loads(findings.read_text())
    return figures
