"""Many jobs and several processes that all want them; run by `forks.find`."""

import datetime as dt
import os
import random
import time
from collections import Counter
from pathlib import Path
from typing import Any
from uuid import uuid4, uuid5

from django.db import OperationalError

from coordinator.jobs import claim as guarded
from coordinator.jobs import run
from coordinator.jobs.timetable import TIMETABLE
from coordinator.jobs.work import Step, Work
from households.models import Audit, Job
from households.tenancy import inside
from tests.cast import BASE, NOW, cast_of_two_blocks

from .databases import copied
from .forks import Child, connect_to, in_child


def register() -> None:
    """A job that only these processes know: it adds one row, so that running twice is seen."""

    def apply(step: Step, _: object) -> None:
        Audit.note(step.home, None, "tally", step.now, key=step.due.key)

    TIMETABLE["tally"] = Work(lambda _: None, lambda _: None, apply)


def plan_jobs(name: str, jobs: int) -> None:

    connect_to(name)
    cast = cast_of_two_blocks()
    for number, building in enumerate((cast.building, cast.elsewhere)):
        with inside(building.uid) as here:
            for key in range(number, jobs, 2):
                Job.plan(here, "tally", f"{key:03}", NOW)


def claim_without_guard(due: Any, now: dt.datetime) -> Any:
    """Read, see that it is free, save: what a claim must not be."""

    with guarded.scope_of(due):
        job = guarded.rows(due).get()
        if job.state != Job.State.DUE:
            return None
        time.sleep(random.choice((0, 0.1)))  # half of them are slow between looking and saving
        job.state, job.token, job.lease_until, job.done_at = Job.State.RUNNING, uuid4(), now + guarded.LEASE, None
        job.attempts += 1
        job.save()
        return guarded.Claim(due, job.token, job.attempts)


def work(name: str, guard: bool, go: int) -> dict[str, int]:

    connect_to(name)
    register()
    if not guard:
        run.claim = claim_without_guard
    os.read(go, 1)  # until all are there
    ran = failed = 0
    while True:
        try:
            now_ran = run.run_due(NOW)
        except OperationalError:  # the loop goes on after this too
            failed += 1
            continue
        ran += now_ran
        if not now_ran:
            return {"ran": ran, "failed": failed}


def tally(name: str, jobs: int) -> dict[str, Any]:

    connect_to(name)
    rows: Counter[str] = Counter()
    undone = 0
    for block in ("Quince Court", "Sorrel Yard"):
        with inside(uuid5(BASE, block)) as here:
            rows.update(audit.detail["key"] for audit in Audit.objects.within(here).filter(act="tally"))
            undone += Job.objects.filter(building=here, name="tally").exclude(state=Job.State.DONE).count()
    return {"once": sum(n == 1 for n in rows.values()), "more": sum(n > 1 for n in rows.values()), "undone": undone}


def main(plan: dict[str, Any]) -> dict[str, Any]:
    with copied(plan["vendor"], plan["base"], Path(plan["folder"])) as name:
        in_child(lambda: plan_jobs(name, plan["jobs"]))
        wait, go = os.pipe()
        children = []
        for _ in range(plan["processes"]):
            children.append(Child(lambda: (os.close(go), work(name, plan["guard"], wait))[1]))
        os.close(go)
        began = time.monotonic()
        processes = [child.end()[1] for child in children]
        return {
            "processes": processes,
            "seconds": time.monotonic() - began,
            **in_child(lambda: tally(name, plan["jobs"])),
        }
