"""Names the proofs that are older than their room: information, never a failure.

A proof is a file tests/proof/NAME.json with the commit that was measured and the paths that it speaks for.
"""

import json
import subprocess
import sys
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parent.parent


def commits_since(commit: str, room: list[str]) -> int | None:
    """How many commits since that one changed the room; None where the commit is not known here."""
    answer = subprocess.run(  # noqa: S603 (the words come from files of this repository)
        ["git", "rev-list", "--count", f"{commit}..HEAD", "--", *room],  # noqa: S607
        cwd=CHECKOUT,
        capture_output=True,
        text=True,
        check=False,
    )
    return int(answer.stdout) if answer.returncode == 0 else None


def judge(proof: dict[str, object]) -> str:
    """A sentence about a proof that no longer speaks for its room; empty where it does."""
    commit, room = str(proof["commit"]), [str(path) for path in proof["room"]]  # type: ignore[attr-defined]
    name = f"Proof {proof['name']} ({proof.get('date', 'no date')})"
    again = f"sh deploy/prove {proof['name']}"
    if commit.endswith("-dirty"):
        return f"{name} measured uncommitted work; again: {again}"
    count = commits_since(commit, room)
    if count is None:
        return f"{name} measured commit {commit[:12]}, which is not known here; again: {again}"
    if count:
        return f"{name} is older than its room: {count} commits in {' '.join(room)}; again: {again}"
    return ""


def main(folder: Path) -> None:
    for file in sorted(folder.glob("*.json")):
        if sentence := judge(json.loads(file.read_text(encoding="utf-8"))):
            sys.stdout.write(sentence + "\n")


if __name__ == "__main__":
    main(CHECKOUT / "tests" / "proof")
