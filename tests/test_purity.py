"""The pure rooms import no framework, no clock, no randomness and no other room; and the check can fail.

Read from the syntax tree, so an import inside a function counts as well. What a room may import is a list of
what is allowed, not of what is forbidden: a new library is a decision made here.
"""

import ast
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parent.parent
ROOMS = {
    "bins.process": frozenset[str](),
    "households.rota": frozenset({"highspy"}),
    "households.sharing": frozenset[str](),
}
# No time, random, secrets, os, sys, pathlib, importlib, logging, zoneinfo (it reads the machine's files).
ALLOWED = frozenset(
    {
        "__future__",
        "abc",
        "bisect",
        "collections",
        "dataclasses",
        "datetime",
        "decimal",
        "enum",
        "fractions",
        "functools",
        "heapq",
        "itertools",
        "math",
        "numbers",
        "numpy",
        "operator",
        "statistics",
        "types",
        "typing",
        "uuid",
    }
)
# read a clock, draw at random, or open the outside
CLOCK = frozenset({"now", "today", "utcnow"})
RANDOM = frozenset({"uuid1", "uuid4", "SystemRandom"})
OUTSIDE = frozenset({"open", "eval", "exec", "compile", "__import__", "input", "print"})
SEEDED = frozenset({"Generator", "default_rng"})  # of numpy.random: a generator handed in, or made from a seed


def faults_in(source: str, room: str) -> list[str]:
    """Every breach in one module's source, as `line: what`."""
    tree = ast.parse(source)
    found: list[str] = []
    for node in ast.walk(tree):
        line = getattr(node, "lineno", 0)
        if isinstance(node, ast.Import):
            found += [f"{line}: import {a.name}" for a in node.names if not _may_import(a.name, room)]
        elif isinstance(node, ast.ImportFrom):
            module = node.module or ""
            names = {a.name for a in node.names}
            if node.level or not _may_import(module, room):
                found.append(f"{line}: from {'.' * node.level}{module} import ...")
            elif (module == "numpy" and "random" in names) or (module == "numpy.random" and names - SEEDED):
                found.append(f"{line}: randomness from {module}")
            found += [f"{line}: {name}" for name in sorted(names & (CLOCK | RANDOM))]
        elif isinstance(node, ast.Attribute):
            is_numpy_random = isinstance(node.value, ast.Attribute) and node.value.attr == "random"
            if node.attr in CLOCK | RANDOM or (is_numpy_random and node.attr not in SEEDED):
                found.append(f"{line}: {node.attr}")
        elif isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            seeds = [*node.args, *(k.value for k in node.keywords)]
            unseeded = not seeds or any(isinstance(s, ast.Constant) and s.value is None for s in seeds)
            if (isinstance(node.func, ast.Name) and name in OUTSIDE) or (name == "default_rng" and unseeded):
                found.append(f"{line}: {name}()")
    return sorted(found)


def _may_import(module: str, room: str) -> bool:
    top = module.split(".")[0]
    return top in ALLOWED | ROOMS[room] or module == room or module.startswith(room + ".")


def faults_under(folder: Path, room: str) -> list[str]:
    """Every breach in every module under the folder, as `name:line: what`."""
    return [
        f"{path.relative_to(folder)}:{fault}"
        for path in sorted(folder.rglob("*.py"))
        for fault in faults_in(path.read_text(encoding="utf-8"), room)
    ]


@pytest.mark.parametrize("room", ROOMS)
def test_a_pure_room_is_pure(room: str) -> None:
    folder = HOUSE.joinpath(*room.split("."))
    assert sorted(folder.rglob("*.py")), f"{room} has no modules: nothing was checked"
    assert faults_under(folder, room) == []


CLEAN = "from datetime import datetime\nimport numpy as np\n\n\ndef later(now: datetime) -> datetime:\n    return now\n"


@pytest.mark.parametrize(
    "seed",
    [
        "import django",
        "from django.utils import timezone",
        "    import django.conf",  # inside the function
        "from bins.models import batch",
        "from coordinator import words",
        "from . import sibling",
        "import time",
        "import os",
        "import importlib",
        "import highspy",  # allowed in the rota only
        "import bins.processes",  # a name that only begins like the room's
        "x = datetime.now()",
        "import datetime as d; x = d.datetime.now(d.UTC)",
        "x = datetime.utcnow()",
        "from datetime import date; x = date.today()",
        "clock = datetime.now",  # taken, not yet called
        "import random",
        "from random import choice",
        "from uuid import uuid4",
        "import uuid; x = uuid.uuid4()",
        "x = np.random.rand()",
        "from numpy import random",
        "from numpy.random import rand",
        "x = np.random.default_rng()",
        "x = np.random.default_rng(None)",
        "x = open('settings.toml')",
        "x = __import__('time')",
    ],
)
def test_the_check_turns_red_for_each_seeded_breach(tmp_path: Path, seed: str) -> None:
    room = tmp_path / "process"
    room.mkdir()
    (room / "__init__.py").write_text('"""A room."""\n', encoding="utf-8")
    (room / "clean.py").write_text(CLEAN, encoding="utf-8")
    assert faults_under(room, "bins.process") == []
    (room / "dirty.py").write_text(CLEAN + seed + "\n", encoding="utf-8")
    faults = faults_under(room, "bins.process")
    assert faults
    assert all(fault.startswith("dirty.py:") for fault in faults)


@pytest.mark.parametrize("seed", ["import scipy", "from ortools.sat.python import cp_model", "import highspyx"])
def test_the_rota_may_use_its_solver_and_no_other(seed: str) -> None:
    assert faults_in(CLEAN + "import highspy\n", "households.rota") == []
    assert faults_in(CLEAN + seed + "\n", "households.rota")


@pytest.mark.parametrize(
    ("room", "source"),
    [
        ("bins.process", "x = np.random.default_rng(7)"),
        ("bins.process", "def draw(rng: np.random.Generator) -> float:\n    return rng.random()"),
        ("bins.process", "from bins.process.stage import Stage"),
        ("households.rota", "import highspy"),
        ("households.sharing", "from households.sharing.tub import MILLIONTHS"),
    ],
)
def test_what_is_allowed_stays_allowed(room: str, source: str) -> None:
    assert faults_in(CLEAN + source + "\n", room) == []
