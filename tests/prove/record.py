"""Leaves the figures of a proof where deploy/test finds them: tests/proof/NAME.json."""

import json
import os
import re
import subprocess
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parent.parent.parent


def record(
    name: str,
    room: Sequence[str],
    trials: int,
    injected: Mapping[str, int],
    figures: Mapping[str, object],
    *,
    checkout: Path = CHECKOUT,
) -> Path:
    """Writes one proof.

    `room` are the paths, from the checkout, that the proof speaks for: it is out of date once they change.
    `injected` counts the faults that really happened, by kind, as seen by the test, not as asked for.
    """
    if not re.fullmatch(r"[a-z][a-z0-9_]*", name):
        raise ValueError(f"a proof is named like its module, not {name!r}")
    if absent := [path for path in room if not (checkout / path).exists()] or (not room and ["(none)"]):
        raise ValueError(f"no such room: {', '.join(absent)}")
    if trials < 1:
        raise ValueError("a proof without trials proves nothing")
    proof = {
        "name": name,
        "commit": commit(checkout),
        "date": datetime.now(UTC).date().isoformat(),
        "room": list(room),
        "trials": trials,
        "injected": dict(injected),
        "figures": dict(figures),
    }
    folder = checkout / "tests" / "proof"
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / f"{name}.json"
    half = folder / f".{name}.json.{os.getpid()}"
    half.write_text(json.dumps(proof, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    return half.replace(file)


def commit(checkout: Path) -> str:
    """The commit that is measured, with -dirty behind it where other files differ from it."""
    head = git(checkout, "rev-parse", "HEAD")
    # The proofs themselves do not count: the first of two in one run would make the second one dirty.
    changed = git(checkout, "status", "--porcelain", "--", ".", ":(exclude)tests/proof")
    return f"{head}-dirty" if changed else head


def git(checkout: Path, *words: str) -> str:
    done = subprocess.run(["git", *words], cwd=checkout, capture_output=True, text=True, check=True)
    return done.stdout.strip()
