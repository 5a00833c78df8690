"""Taking hold of a job, and letting go of it. A claim is committed alone, before anything is read.

Promise: a job's writes happen once (the token is checked in the transaction that writes). What a job does
outside the database, sending a mail, happens at least once.
"""

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.db import connection, transaction
from django.db.models import F, Q, QuerySet

from households.models import Building, Job
from households.models.job import EVERYWHERE
from households.tenancy import has_second_wall, inside

LEASE = dt.timedelta(minutes=10)  # longer than any step takes; a killed worker's job is free again after it
MOST_ATTEMPTS = 5
FIRST_WAIT = dt.timedelta(seconds=30)  # doubled with each failed try


@dataclass(frozen=True)
class Due:
    """A job that could be claimed: all that may be known before going into its building."""

    scope: str
    name: str
    key: str


@dataclass(frozen=True)
class Claim:
    due: Due
    token: UUID
    attempts: int


def due_jobs(as_of: dt.datetime, most: int) -> list[Due]:
    """Jobs due at an instant, or whose lease ran out, the longest waiting first.

    The one look across buildings: on PostgreSQL a function of the owner's that shows scope, name and key.
    """
    if has_second_wall():
        with connection.cursor() as cursor:
            cursor.execute("SELECT scope, name, key FROM due_jobs(%s, %s)", [as_of, most])
            return [Due(*row) for row in cursor.fetchall()]
    rows = Job.objects.filter(_claimable(as_of)).order_by("wake_at", "scope", "name", "key")
    return [Due(*row) for row in rows.values_list("scope", "name", "key")[:most]]


def _claimable(at: dt.datetime) -> Q:
    return Q(state=Job.State.DUE, wake_at__lte=at) | Q(state=Job.State.RUNNING, lease_until__lte=at)


@contextmanager
def scope_of(due: Due) -> Iterator[Building | None]:
    """Inside the job's building; None for a job of scope all."""
    if due.scope == EVERYWHERE:
        yield None
        return
    with inside(UUID(due.scope)) as building:
        yield building


def rows(due: Due) -> "QuerySet[Job]":
    return Job.objects.filter(scope=due.scope, name=due.name, key=due.key)


def claim(due: Due, now: dt.datetime) -> Claim | None:
    """Take hold of a job: one statement, so of many that try at once exactly one does. None for the others."""
    token = uuid4()
    with scope_of(due), transaction.atomic():
        taken = (
            rows(due)
            .filter(_claimable(now))
            .update(
                state=Job.State.RUNNING, token=token, lease_until=now + LEASE, attempts=F("attempts") + 1, last_error=""
            )
        )
        if not taken:
            return None
        return Claim(due, token, rows(due).get().attempts)


def still_held(claim: Claim) -> bool:
    return rows(claim.due).filter(state=Job.State.RUNNING, token=claim.token).exists()


def mark_done(claim: Claim, now: dt.datetime) -> bool:
    """False where another worker took the job over since `still_held`: what was written must not be committed.

    From a True on, the job's row is locked until the end of the transaction, so a claim waits and finds it done.
    """
    changed = (
        rows(claim.due)
        .filter(token=claim.token)
        .update(state=Job.State.DONE, token=None, lease_until=None, done_at=now, last_error="")
    )
    return changed == 1


def let_go(claim: Claim, now: dt.datetime, error: str, follow: Callable[[Building | None], None] | None) -> None:
    """After a failed try: due again later, or parked after the last.

    A parked job of a chain promises the next one here, in the same transaction: a parked night must not end
    all nights.
    """
    parked = claim.attempts >= MOST_ATTEMPTS
    with scope_of(claim.due) as building, transaction.atomic():
        changed = (
            rows(claim.due)
            .filter(token=claim.token)
            .update(
                state=Job.State.PARKED if parked else Job.State.DUE,
                token=None,
                lease_until=None,
                wake_at=now + FIRST_WAIT * 2 ** (claim.attempts - 1),
                last_error=error[:2000],
            )
        )
        if parked and changed and follow is not None:
            follow(building)


def retry_parked(now: dt.datetime) -> int:
    """Make the parked jobs due again, with all their attempts; those that this role can see. Returns how many."""
    return Job.objects.filter(state=Job.State.PARKED).update(state=Job.State.DUE, attempts=0, wake_at=now)
