"""Nights that are killed, and what is left of them; run by `forks.find`.

Each trial: a copy of a scene's database; a process that runs what is due and is killed by SIGKILL; a look at
what it left; another process that runs what is due once the lease is over; the digest of all rows.
"""

import contextlib
import dataclasses
import datetime as dt
import itertools
import os
import random
import signal
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from uuid import uuid5

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import connection

from bins.decisions import night
from bins.models import Decision
from coordinator.digest import digest, rows_of
from coordinator.jobs import claim, run
from households.models import Building, Job
from households.tenancy import inside
from tests.cast import BASE

from .databases import copied
from .forks import Child, connect_to, in_child
from .scenes import SCENES

BLOCKS = ("Quince Court", "Sorrel Yard", "Medlar Row")


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def before(place: Any, name: str, act: Callable[[], None]) -> None:
    inner = getattr(place, name)

    def patched(*args: Any, **more: Any) -> Any:
        act()
        return inner(*args, **more)

    setattr(place, name, patched)


def after(place: Any, name: str, act: Callable[[], None]) -> None:
    inner = getattr(place, name)

    def patched(*args: Any, **more: Any) -> Any:
        found = inner(*args, **more)
        act()
        return found

    setattr(place, name, patched)


def points() -> dict[str, Callable[[Callable[[], None]], None]]:
    """The ten named points of a night, in order: each puts its act into the code of this process."""

    def after_gather(act: Callable[[], None]) -> None:
        for name, work in list(run.TIMETABLE.items()):

            def decide(gathered: Any, inner: Callable[[Any], Any] = work.decide) -> Any:
                act()
                return inner(gathered)

            run.TIMETABLE[name] = dataclasses.replace(work, decide=decide)

    return {
        "before the claim": lambda act: before(run, "claim", act),
        "inside the claim's transaction": lambda act: before(claim, "Claim", act),
        "after the claim": lambda act: before(run, "run", act),
        "during gather": lambda act: before(night, "settings_of", act),
        "after gather": after_gather,
        "during decide": lambda act: after(night, "decide_night", act),
        "after decide": lambda act: before(run, "_apply", act),
        "inside apply, after the first write": lambda act: after(Decision, "save", act),
        "before mark_done": lambda act: before(run, "mark_done", act),
        "after the commit": lambda act: after(run, "_apply", act),
    }


def nth(number: int, act: Callable[[], None]) -> Callable[[], None]:
    count = itertools.count(1)

    def perhaps() -> None:
        if next(count) == number:
            act()

    return perhaps


def at_each_statement(act: Callable[[], None]) -> None:
    """Call `act` before and after each statement, each commit and each sending of a mail."""

    def around(execute: Any, *args: Any) -> Any:
        act()
        found = execute(*args)
        act()
        return found

    connection.execute_wrappers.append(around)
    for place, name in ((connection, "_commit"), (EmailMessage, "send")):
        before(place, name, act)
        after(place, name, act)


def insides() -> Iterator[Building]:
    """Into each building of the scene, one after the other."""
    for block in BLOCKS:
        with contextlib.suppress(Building.DoesNotExist), inside(uuid5(BASE, block)) as building:
            yield building


class Theatre:
    """One scene, set up once and copied for every trial."""

    def __init__(self, vendor: str, folder: Path, scene: str) -> None:

        self.vendor, self.folder, self.scene = vendor, folder, SCENES[scene]

    def prepare(self, name: str) -> None:
        connect_to(name)
        self.mail_into(self.folder / "before")
        self.scene.begin()

    def mail_into(self, folder: Path) -> None:
        settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
        settings.EMAIL_FILE_PATH = str(folder)

    def run(self, name: str, arm: Callable[[], None] = lambda: None) -> int:
        connect_to(name)
        self.mail_into(self.mail(name))
        arm()
        return run.run_due(self.scene.now)

    def run_later(self, name: str) -> dict[str, Any]:
        """Once the lease of a killed process is over; and what stands in the database then."""
        connect_to(name)
        self.mail_into(self.mail(name))
        run.run_due(self.scene.now + claim.LEASE + dt.timedelta(minutes=1))
        lines: list[str] = []
        for building in insides():
            lines += rows_of(building)
        return {**self.look(name), "digest": digest(lines), "letters": self.letters(name)}

    def mail(self, name: str) -> Path:
        return self.folder / f"mail-{Path(name).stem}"

    def letters(self, name: str) -> int:
        """How many letters went out; one file can hold several."""
        return sum(file.read_bytes().count(b"Message-ID: ") for file in self.mail(name).glob("*"))

    def look(self, name: str) -> dict[str, Any]:
        """(state, attempts) of the jobs of this run, and how many decisions there are."""
        connect_to(name)
        jobs: list[tuple[str, int]] = []
        decisions = 0
        for building in insides():
            due = Job.objects.filter(building=building, wake_at__lte=self.scene.now)
            jobs += due.values_list("state", "attempts")
            decisions += Decision.objects.within(building).count()
        return {"jobs": sorted(jobs), "decisions": decisions}

    def undisturbed(self, template: str) -> dict[str, Any]:
        """The same two runs without a fault, with what they came to and how many moments they have."""
        moments = itertools.count()

        def counted() -> dict[str, Any]:
            began = time.monotonic()
            ran = self.run(name, arm=lambda: at_each_statement(lambda: next(moments) and None))
            return {"ran": ran, "moments": next(moments), "seconds": time.monotonic() - began}

        with copied(self.vendor, template, self.folder) as name:
            found = in_child(counted)
            return {**found, **in_child(lambda: self.run_later(name))}

    def trial(self, template: str, trial: dict[str, Any]) -> dict[str, Any]:
        with copied(self.vendor, template, self.folder) as name:
            if "after_ms" in trial:
                child = Child(lambda: self.run(name))
                time.sleep(trial["after_ms"] / 1000)
                child.kill()
                number, _ = child.end()
            else:
                number, _ = Child(lambda: self.run(name, arm=lambda: arm(trial))).end()
            left = in_child(lambda: self.look(name))
            end = in_child(lambda: self.run_later(name))
            return {**trial, "killed": number == signal.SIGKILL, "left": left, **end}


def arm(trial: dict[str, Any]) -> None:
    act = nth(trial.get("nth", 1), die)
    if "point" in trial:
        points()[trial["point"]](act)
    else:
        at_each_statement(nth(trial["moment"], die))


def trials_of(plan: dict[str, Any], calm: dict[str, Any]) -> list[dict[str, Any]]:
    trials = [{"point": point, "nth": n} for n in plan["nth"] for point in plan["points"]]
    most = plan.get("most_moments", 0)
    step = max(1, -(-calm["moments"] // most)) if most else 0
    if step:
        trials += [{"moment": moment} for moment in range(1, calm["moments"] + 1, step)]
    dice = random.Random(plan.get("seed", 1))
    longest_ms = calm["seconds"] * 1500
    trials += [{"after_ms": round(dice.uniform(0, longest_ms), 1)} for _ in range(plan.get("random", 0))]
    return trials


def main(plan: dict[str, Any]) -> dict[str, Any]:
    theatre = Theatre(plan["vendor"], Path(plan["folder"]), plan["scene"])
    with copied(plan["vendor"], plan["base"], theatre.folder) as template:
        in_child(lambda: theatre.prepare(template))
        calm = theatre.undisturbed(template)
        return {"calm": calm, "trials": [theatre.trial(template, trial) for trial in trials_of(plan, calm)]}
