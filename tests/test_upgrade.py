"""A block that has lived for a while gets a new version: its history stays, and its walls stand again."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from .running import CHECKOUT, clean_environment

pytestmark = [pytest.mark.embedded, pytest.mark.long]


def triggers(folder: Path) -> set[str]:
    with closing(sqlite3.connect(folder / "drums.sqlite3")) as database:
        return {name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}


def test_tables_are_made_anew_under_a_lived_in_database_and_nothing_is_lost(tmp_path: Path) -> None:
    def manage(*command: str) -> str:
        environment = clean_environment({"DATA_DIR": str(tmp_path), "SECRET_KEY": "k" * 50})
        done = subprocess.run(
            [sys.executable, "manage.py", *command], cwd=CHECKOUT, env=environment, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stderr[-3000:]
        return done.stdout

    for command in ("migrate", "walls", "demo"):
        manage(command)
    walls, history = triggers(tmp_path), manage("digest")
    assert walls
    # Back to the tables of before and forward again: SQLite makes the places' table anew, twice.
    manage("migrate", "bins", "0002")
    assert not triggers(tmp_path)  # what walls did not build again would be missed here
    for command in ("migrate", "walls"):
        manage(command)
    assert triggers(tmp_path) == walls
    assert manage("digest") == history
