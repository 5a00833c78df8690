"""Asking for a plan: the days as a record, kept as a row, and a job promised that works it out.

Planning takes seconds where efforts differ, so no page waits for it.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from households.ledger import UidReused, fingerprint, open_ledger
from households.models import Building, Job, Person, RotaDraft, RotaPlan, Site
from households.rota.branching import Undecided
from households.rota.planning import replan, solve
from households.rota.problem import Problem

from .outcomes import Outcome, as_raw
from .planning import DAY, LONGEST_DAYS, gather

NAME = "rota"
MOST_WAITING = 3  # chosen: each may take a worker half a minute
MOST_KEPT = 6  # chosen: of a site; one that is older rests on what is no longer so


@dataclass(frozen=True)
class DaysToPlan:
    """The days to plan, both ends counted. `is_again`: beside the plan that they have."""

    uid: UUID
    first: dt.date
    last: dt.date
    is_again: bool

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], today: dt.date) -> Self:
        """Read and check raw values: uid, first, last, again. Raises Refused with every fault named.

        They begin today or later, unless they have a plan, and are a quarter of a year at most.
        """
        reader = Reader(raw)
        is_again = reader.yes("again")
        first, last = reader.day("first"), reader.day("last")
        if first is None or (first < today and not is_again):
            reader.errors.setdefault("first", _("Which day does it begin? Today or later."))
        if last is None or (first is not None and not first <= last < first + LONGEST_DAYS * DAY):
            reader.errors.setdefault("last", _("Which day does it end? Three months are the most."))
        told = cls(reader.uid(), first or today, last or today, is_again)
        reader.finish()
        return told


class State(StrEnum):
    ASKED = "asked"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"


@dataclass(frozen=True)
class WorkedOut:
    """What was found, and the mark of what it rests on."""

    rests_on: str
    outcome: Outcome


def ask(*, building: Building, site: Site, told: DaysToPlan, person: Person | None, now: dt.datetime) -> RotaDraft:
    """Keep the days to plan and promise that they are worked out; the same uid and values give the row that stands.

    Raises UidReused, and Refused for days that have a plan (or have none, again), and while others are worked out.
    """
    print_ = fingerprint(asdict(told) | {"site": site.uid})
    with open_ledger(building):
        known: RotaDraft | None = RotaDraft.objects.within(building).filter(uid=told.uid).first()
        if known is not None:
            if known.fingerprint != print_:
                raise UidReused(told.uid)
            return known
        _refuse_days(building, site, told, now)
        jobs = Job.objects.filter(building=building, name=NAME)
        if jobs.exclude(state__in=[Job.State.DONE, Job.State.PARKED]).count() >= MOST_WAITING:
            raise Refused({"uid": _("Others are still being worked out. Please ask again in a minute.")})
        row: RotaDraft = RotaDraft.objects.create(
            building=building,
            uid=told.uid,
            site=site,
            first_on=told.first,
            last_on=told.last,
            is_again=told.is_again,
            asked_at=now,
            asked_by=person,
            fingerprint=print_,
        )
        Job.plan(building, NAME, str(row.uid), now)
        old = RotaDraft.objects.within(building).filter(site=site).order_by("-asked_at", "-pk")
        RotaDraft.objects.within(building).filter(pk__in=list(old.values_list("pk", flat=True)[MOST_KEPT:])).delete()
    return row


def plans_ahead(building: Building, site: Site, today: dt.date) -> list[RotaPlan]:
    """The plan in force of each period that isn't over, soonest first. One query."""
    rows = RotaPlan.objects.within(building).filter(site=site, last_on__gte=today).select_related("site")
    newest = {row.first_on: row for row in rows.order_by("number")}
    return [newest[first] for first in sorted(newest)]


def _refuse_days(building: Building, site: Site, told: DaysToPlan, now: dt.datetime) -> None:
    if told.is_again:
        plans = plans_ahead(building, site, building.local(now).date())
        if (told.first, told.last) not in {(row.first_on, row.last_on) for row in plans}:
            raise Refused({"first": _("These days have no plan yet.")})
        return
    theirs = RotaPlan.objects.within(building).filter(site=site, first_on__lte=told.last, last_on__gte=told.first)
    if theirs.exists():
        raise Refused({"first": _("Some of these days have a plan already. Plan them again instead.")})


# What the job does with it -------------------------------------------------------------------------------------


def work_out(problem: Problem, is_again: bool) -> Outcome:
    """A plan, three of them, or why there is none; None where the time ran out. Some seconds; touches no database."""
    try:
        return replan(problem) if is_again else solve(problem)
    except Undecided:
        return None


def has_moved(building: Building, draft: RotaDraft, rests_on: str, now: dt.datetime) -> bool:
    """Whether anything that a plan of these days rests on has changed. Thirteen queries."""
    return gather(building, draft.site, draft.first_on, draft.last_on, now).mark != rests_on


def keep(building: Building, draft_uid: UUID, found: WorkedOut, now: dt.datetime) -> None:
    """Write down what was found, once. Call with the building locked."""
    RotaDraft.objects.within(building).filter(uid=draft_uid, done_at__isnull=True).update(
        rests_on=found.rests_on, outcome=as_raw(found.outcome), done_at=now
    )


def state_of(building: Building, draft: RotaDraft) -> State:
    """How far it is. One query at most."""
    if draft.done_at is not None:
        return State.DONE
    job = Job.objects.filter(building=building, name=NAME, key=str(draft.uid)).first()
    if job is None or job.state == Job.State.PARKED:
        return State.FAILED
    return State.RUNNING if job.state == Job.State.RUNNING else State.ASKED
