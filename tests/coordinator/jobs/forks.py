"""Real processes, cheaply: one starts Django and forks the others.

`find` runs `main(plan)` of a module in a process that has loaded Django and opens no connection itself. Each
child it forks begins like a process of its own: it connects, works and ends, or is killed.
"""

import importlib
import json
import os
import signal
import subprocess
import sys
import traceback
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import django
from django.db import connection

from tests.running import CHECKOUT, clean_environment

from .databases import service_environment


def find(module: str, plan: Mapping[str, Any], *, vendor: str, base: str, folder: Path, timeout: float = 120) -> Any:
    """What `main` of a module in this folder found; plan and findings are JSON. `base` is a migrated database."""
    environment = service_environment(vendor, base, folder) | {"DJANGO_SETTINGS_MODULE": "coordinator.settings"}
    done = subprocess.run(
        [sys.executable, "-m", __name__, f"{__package__}.{module}"],
        input=json.dumps({**plan, "vendor": vendor, "base": base, "folder": str(folder)}),
        cwd=CHECKOUT,
        env=clean_environment(environment),
        capture_output=True,
        text=True,
        timeout=timeout,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-4000:]
    return json.loads(done.stdout)


def connect_to(name: str) -> None:
    """In a child: use this database from now on."""
    connection.settings_dict["NAME"] = name


class Child:
    """A forked process that does one thing; `end` waits for it."""

    def __init__(self, work: Callable[[], Any]) -> None:
        read, write = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(read)
            code = 1
            try:
                with os.fdopen(write, "w") as answer:
                    json.dump(work(), answer)
                code = 0
            except BaseException:
                traceback.print_exc()
            finally:
                os._exit(code)  # nothing of the parent's is to be tidied up here
        os.close(write)
        self.answer = os.fdopen(read)

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)

    def end(self) -> tuple[int, Any]:
        """(0 and what it found) or (the signal that killed it, None). RuntimeError where it failed."""
        with self.answer as answer:
            text = answer.read()
        _, status = os.waitpid(self.pid, 0)
        if os.WIFSIGNALED(status):
            return os.WTERMSIG(status), None
        if os.WEXITSTATUS(status):
            raise RuntimeError("a child failed; see above")
        return 0, json.loads(text)


def in_child(work: Callable[[], Any]) -> Any:
    number, found = Child(work).end()
    if number:
        raise RuntimeError(f"a child was killed by signal {number}")
    return found


if __name__ == "__main__":
    django.setup()
    connection.vendor  # noqa: B018  (loads the database's module here, once for all children)
    answer = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)  # the solver's library greets on standard output
    with answer:
        json.dump(importlib.import_module(sys.argv[1]).main(json.load(sys.stdin)), answer)
