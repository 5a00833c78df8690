"""Running what is due. The Celery task, the poll on a worker machine and the loop in the one-process default
all call `run_due`; none of them knows more than that."""

import datetime as dt
import logging
import time
from typing import Any

from django.db import transaction

from households.models import Building

from .claim import MOST_ATTEMPTS, Claim, claim, due_jobs, let_go, mark_done, scope_of, still_held
from .timetable import TIMETABLE
from .work import Step

log = logging.getLogger(__name__)
AT_ONCE = 50
MOST_LOOKED_THROUGH = 1000  # chosen: for those of one name among all that are due
ROUND_S = 60.0  # leases are counted from `now`, which ages while a round runs: far less than a lease
MOST_GATHERS = 5  # a building whose books move this often during one decision is busy: try again later


class Lost(Exception):
    """The lease ran out and another worker holds the job now: this one writes nothing."""


def run_due(now: dt.datetime, *, limit: int = 200, only: str = "") -> int:
    """Run due jobs, the longest waiting first, until none is left or `limit` were run. Returns how many.

    After a minute it ends as well: the next round, with a fresh `now`, does the rest. `only`: jobs of that name.
    """
    began = time.monotonic()
    ran = 0
    while ran < limit:
        taken = 0
        for due in due_jobs(now, MOST_LOOKED_THROUGH if only else min(AT_ONCE, limit - ran)):
            held = claim(due, now) if only in ("", due.name) else None
            if held is not None:
                run(held, now)
                taken += 1
            if time.monotonic() - began > ROUND_S:
                return ran + taken
        ran += taken
        if not taken:
            break
    return ran


def run(held: Claim, now: dt.datetime) -> None:
    """Do one claimed job. What goes wrong is written on its row and never reaches the caller."""
    work = TIMETABLE.get(held.due.name)
    try:
        if held.attempts > MOST_ATTEMPTS:
            raise RuntimeError("ended without a word on each try: the worker was killed or ran out of memory")
        if work is None:
            raise LookupError(f"no job is called {held.due.name}")
        for _ in range(MOST_GATHERS):
            with scope_of(held.due) as building:
                number = building.ledger_number if building else 0
                gathered = work.gather(Step(held.due, building, now))
            decided = work.decide(gathered)
            if _apply(held, decided, number, now):
                return
        raise RuntimeError("the books moved during each try")
    except Lost:
        log.warning("%s was taken over by another worker", held.due)
    except Exception as error:
        log.exception("%s failed, try %s", held.due, held.attempts)
        follow = work.follow if work else None
        let_go(
            held,
            now,
            f"{type(error).__name__}: {error}",
            (lambda building: follow(Step(held.due, building, now))) if follow else None,
        )


def _apply(held: Claim, decided: Any, number: int, now: dt.datetime) -> bool:
    """Write in one short transaction. False when what was read has moved since: gather again."""
    work = TIMETABLE[held.due.name]
    with scope_of(held.due) as building, transaction.atomic():
        if building is not None:
            building = Building.objects.select_for_update(no_key=True).get(pk=building.pk)
        if not still_held(held):
            raise Lost
        if work.reads_ledger and building is not None and building.ledger_number != number:
            return False
        step = Step(held.due, building, now)
        if work.moved is not None and work.moved(step, decided):
            return False
        work.apply(step, decided)
        if work.follow is not None:
            work.follow(step)
        if not mark_done(held, now):
            raise Lost
    return True
