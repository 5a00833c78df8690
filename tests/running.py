"""The whole product, a Celery worker and a silent server as processes of their own, for tests to talk to.

Whatever is waited for is a condition, with a bound; whatever is ended is a process group begun here.
"""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
import uuid
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Self

CHECKOUT = Path(__file__).resolve().parent.parent

# What a developer's shell may hold and a started product must not inherit.
OWN = ("PORT", "PUBLIC_URL", "DATABASE_URL", "OWNER_DATABASE_URL", "DATABASE_ROLE", "REDIS_URL", "DATA_DIR")
OWN += ("SECRET_KEY", "SMTP_URL", "MAIL_FROM", "ALLOW_PLAIN_HTTP", "DEBUG", "DEMO")
OWN += ("DJANGO_SETTINGS_MODULE", "PYTHONPATH", "PYTHONWARNINGS", "VIRTUAL_ENV")


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port: int = server.getsockname()[1]
        return port


def clean_environment(more: Mapping[str, str]) -> dict[str, str]:
    return {name: value for name, value in os.environ.items() if name not in OWN} | dict(more)


def wait_until(true: Callable[[], bool], *, timeout: float, what: Callable[[], str], every: float = 0.1) -> None:
    end = time.monotonic() + timeout
    while not true():
        if time.monotonic() > end:
            raise TimeoutError(what())
        time.sleep(every)


class ProcessGroup:
    """A command in a process group of its own, with what it said kept in a file."""

    def __init__(self, command: list[str], *, cwd: Path, env: Mapping[str, str]) -> None:
        self.log = tempfile.TemporaryFile()  # noqa: SIM115 (closed in `end`)
        self.command = command
        self.process = subprocess.Popen(
            command,
            cwd=cwd,
            env=dict(env),
            stdin=subprocess.DEVNULL,
            stdout=self.log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def said(self) -> str:
        if self.log.closed:
            return ""
        # Read by place, not by seeking: the process writes at the same offset.
        return os.pread(self.log.fileno(), 1_000_000, 0).decode(errors="replace")

    def must_be_alive(self) -> None:
        code = self.process.poll()
        if code is not None:
            raise RuntimeError(f"{' '.join(self.command)} ended with {code}:\n{self.said()}")

    def send(self, number: signal.Signals) -> None:
        """As the terminal does: to everything that the command started."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, number)

    def is_gone(self) -> bool:
        """Whether nothing of the group is left, the command's children included."""
        self.process.poll()
        try:
            os.killpg(self.process.pid, 0)
        except ProcessLookupError:
            return True
        return False

    def stop(self, number: signal.Signals = signal.SIGINT, *, timeout: float = 20) -> int:
        """Signals the group, waits until all of it is gone and returns the command's exit code."""
        self.send(number)
        code = self.process.wait(timeout)
        wait_until(self.is_gone, timeout=timeout, what=lambda: f"left of {self.command}:\n{self.said()}")
        return code

    def end(self) -> None:
        if not self.is_gone():
            self.send(signal.SIGTERM)
            with contextlib.suppress(TimeoutError, subprocess.TimeoutExpired):
                self.process.wait(15)
                wait_until(self.is_gone, timeout=5, what=lambda: "")
            self.send(signal.SIGKILL)
        self.process.wait(15)
        self.log.close()


def status_of(url: str, *, timeout: float = 5) -> int:
    """The HTTP status, or 0 where nobody answers."""
    try:
        with urllib.request.urlopen(url, timeout=timeout) as answer:  # noqa: S310 (loopback)
            status: int = answer.status
            return status
    except urllib.error.HTTPError as error:
        with error:
            return error.code
    except OSError:
        return 0


class Product(ProcessGroup):
    """`sh deploy/start` in a checkout. Begins at once; `wait_until_ready` before talking to it."""

    def __init__(self, checkout: Path, env: Mapping[str, str]) -> None:
        self.port = int(env.get("PORT") or free_port())
        self.url = f"http://127.0.0.1:{self.port}"
        environment = clean_environment({**env, "PORT": str(self.port)})
        super().__init__(["sh", "deploy/start"], cwd=checkout, env=environment)

    def wait_until_ready(self, timeout: float) -> None:
        def ready() -> bool:
            self.must_be_alive()
            return status_of(f"{self.url}/healthz") == 200

        wait_until(ready, timeout=timeout, every=0.25, what=lambda: f"not ready:\n{self.said()}")


@contextlib.contextmanager
def started_product(checkout: Path, env: Mapping[str, str], ready_timeout: float = 240) -> Iterator[str]:
    """The product as people start it, healthy. Yields its address.

    `env` is the product's own environment (PORT, DATA_DIR, ...); without PORT a free one is taken.
    """
    with Product(checkout, env) as product:
        product.wait_until_ready(ready_timeout)
        yield product.url


@contextlib.contextmanager
def celery_worker(env: Mapping[str, str], *, timeout: float = 60) -> Iterator[ProcessGroup]:
    """A real worker of this checkout that answers. `env` carries REDIS_URL, DATABASE_URL, DATA_DIR, ..."""
    name = f"test-{uuid.uuid4().hex[:8]}@localhost"
    celery = [sys.executable, "-m", "celery", "-A", "coordinator.celery"]
    environment = clean_environment(env)
    worker = [*celery, "worker", "--hostname", name, "--concurrency", "1", "--loglevel", "WARNING"]
    ping = [*celery, "inspect", "ping", "--destination", name, "--timeout", "1"]
    with ProcessGroup(worker, cwd=CHECKOUT, env=environment) as group:

        def answers() -> bool:
            group.must_be_alive()
            asked = subprocess.run(ping, cwd=CHECKOUT, env=environment, capture_output=True, check=False)
            return asked.returncode == 0

        wait_until(answers, timeout=timeout, what=lambda: f"the worker does not answer:\n{group.said()}")
        yield group


class SilentServer:
    """Accepts connections and never says a word."""

    def __init__(self) -> None:
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port: int = self.socket.getsockname()[1]
        self.redis_url = f"redis://127.0.0.1:{self.port}/0"
        self.accepted: list[socket.socket] = []
        self.thread = threading.Thread(target=self.accept, name="silent server", daemon=True)
        self.thread.start()

    @property
    def connections(self) -> int:
        """How many were ever made."""
        return len(self.accepted)

    def accept(self) -> None:
        while True:
            try:
                connection, _ = self.socket.accept()
            except OSError:
                return
            self.accepted.append(connection)

    def close(self) -> None:
        with contextlib.suppress(OSError):
            self.socket.shutdown(socket.SHUT_RDWR)  # wakes the thread; closing alone would not
        self.socket.close()
        self.thread.join(5)
        for connection in self.accepted:
            connection.close()


@contextlib.contextmanager
def accepting_but_silent_server() -> Iterator[SilentServer]:
    server = SilentServer()
    try:
        yield server
    finally:
        server.close()
