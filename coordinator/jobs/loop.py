"""The loop that looks for due jobs, where no message says that there are any.

It runs in a thread of `manage.py serve` and of `manage.py poll`, so that jobs and sign-in codes go out while
the broker is silent or absent.
"""

import contextlib
import logging
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from types import FrameType

from django.db import close_old_connections, connections
from django.utils import timezone

from . import canary, deliver
from .run import run_due

PAUSE_S = 2.0  # chosen: a sign-in code leaves before its reader looks for it
PAUSE_AFTER_FAILURE_S = 10.0  # chosen: a database that is away is not logged about every two seconds
GRACE_S = 5.0  # chosen: the round under way may end in this time; later it is left to its lease
LIMIT = 10  # chosen: jobs of one round, few enough to end in time; a full round is followed at once by the next

log = logging.getLogger(__name__)


def keep_running(
    stop: threading.Event,
    *,
    run: Callable[..., int] = run_due,
    clock: Callable[[], datetime] = timezone.now,
    pause_s: float = PAUSE_S,
    pause_after_failure_s: float = PAUSE_AFTER_FAILURE_S,
) -> None:
    """Runs due jobs, round after round, until `stop` is set. No exception ends it.

    A job that is still running when the process ends is lost with it; its lease runs out and another round
    takes it up.
    """
    begun = False
    try:
        while not stop.is_set():
            try:
                close_old_connections()  # one that broke in the last round would fail this one too
                if not begun:
                    canary.plan_first(clock())
                    begun = True
                ran = run(clock(), limit=LIMIT)
                close_old_connections()
                pause = 0.0 if ran >= LIMIT else pause_s
            except Exception:
                log.exception("A round of due jobs failed; the next follows in %g s", pause_after_failure_s)
                pause = pause_after_failure_s
            stop.wait(pause)
    finally:
        connections.close_all()


@contextlib.contextmanager
def jobs_until_told_to_end() -> Iterator[None]:
    """Runs due jobs in threads beside the block, which SIGTERM or Ctrl-C leaves without an error.

    Letters have a thread of their own: a sign-in code must not wait until somebody's what-if is worked out.
    """
    # Set by hand: a shell that starts us in the background makes us ignore Ctrl-C otherwise.
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, leave)
    stop = threading.Event()
    letters = {"run": partial(run_due, only=deliver.NAME)}
    threads = [
        threading.Thread(target=keep_running, args=[stop], name="jobs", daemon=True),
        threading.Thread(target=keep_running, args=[stop], kwargs=letters, name="letters", daemon=True),
    ]
    try:
        for thread in threads:
            thread.start()
        yield
    except SystemExit:
        pass
    finally:
        stop.set()
        until = time.monotonic() + GRACE_S
        for thread in threads:
            thread.join(max(0.0, until - time.monotonic()))


def leave(number: int, frame: FrameType | None) -> None:
    """Leaves the block in the main thread; a second signal must not interrupt the tidying."""
    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, signal.SIG_IGN)
    sys.exit(0)
