"""The locks pin every package by number and hash, and name no place to fetch from."""

import re
import tomllib
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parent.parent
LOCKS = ["run.lock", "test.lock"]

PIN = re.compile(r"(?P<name>[a-z0-9]+(?:-[a-z0-9]+)*)==[0-9][^\s;]*(?: ; (?P<marker>[^\\]+?))?")
HASH = re.compile(r"--hash=sha256:[0-9a-f]{64}")


def entries(text: str) -> list[str]:
    """The logical lines: a package with its hashes, the continuations joined."""
    return [line.strip() for line in text.replace("\\\n", " ").splitlines() if line.strip()]


def faults(text: str) -> list[str]:
    """What is wrong with a lock, a sentence a line."""
    found = [] if entries(text) else ["the lock is empty"]
    for line in entries(text):
        pin, *hashes = re.split(r"\s+(?=--)", line)
        if "://" in line:
            found.append(f"an address: {line[:60]}")
        elif not PIN.fullmatch(pin):
            found.append(f"not a package pinned with ==: {line[:60]}")
        elif not hashes:
            found.append(f"no hash: {line[:60]}")
        elif strange := [word for word in hashes if not HASH.fullmatch(word)]:
            found.append(f"not a hash: {strange[0][:60]}")
    return found


def names(text: str) -> set[str]:
    return {match["name"] for line in entries(text) if (match := PIN.match(line))}


def direct(requirements: list[str]) -> set[str]:
    """The names in requirements, spelled as locks spell them."""
    bare = [re.match(r"[A-Za-z0-9._-]+", each) for each in requirements]
    return {re.sub(r"[-_.]+", "-", match[0]).lower() for match in bare if match}


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_pins_every_package_with_hashes_and_names_no_place(lock: str) -> None:
    assert faults((CHECKOUT / "deploy" / lock).read_text()) == []


def test_every_direct_dependency_is_in_its_lock() -> None:
    project = tomllib.loads((CHECKOUT / "pyproject.toml").read_text())["project"]
    run, test = ((CHECKOUT / "deploy" / lock).read_text() for lock in LOCKS)
    assert direct(project["dependencies"]) - names(run) == set()
    everything = project["dependencies"] + project["optional-dependencies"]["test"]
    assert direct(everything) - names(test) == set()


def test_the_tests_run_with_the_versions_that_people_run() -> None:
    run, test = (entries((CHECKOUT / "deploy" / lock).read_text()) for lock in LOCKS)
    assert set(run) - set(test) == set()


@pytest.mark.parametrize(
    "line",
    [
        "--index-url https://packages.example/simple",
        "--extra-index-url https://packages.example/simple",
        "--find-links ./wheels",
        "-e .",
        "./wheels/segno-1.6.6-py3-none-any.whl",
        "/srv/wheels/segno-1.6.6-py3-none-any.whl",
        "file:///srv/wheels/segno-1.6.6-py3-none-any.whl",
        "segno @ https://packages.example/segno-1.6.6.whl --hash=sha256:" + "0" * 64,
        "segno>=1.6 --hash=sha256:" + "0" * 64,
        "segno==1.6.6",
        "segno==1.6.6 --hash=md5:" + "0" * 32,
        "segno==1.6.6 --hash=sha256:" + "0" * 63,
        "segno==1.6.6 --hash=sha256:" + "0" * 64 + " --index-url=packages.example",
    ],
)
def test_the_check_goes_red_on_a_bad_line(tmp_path: Path, line: str) -> None:
    copy = tmp_path / "run.lock"
    copy.write_text((CHECKOUT / "deploy" / "run.lock").read_text() + line + "\n")
    assert len(faults(copy.read_text())) == 1


def test_the_check_goes_red_on_an_empty_lock_and_on_a_package_left_out() -> None:
    assert faults("") != []
    text = (CHECKOUT / "deploy" / "run.lock").read_text()
    without = "\n".join(line for line in entries(text) if not line.startswith("segno=="))
    assert direct(["Segno>=1.6"]) - names(without) == {"segno"}
