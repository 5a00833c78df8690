"""A small job every minute: while it sings, jobs run. The health page asks for its age."""

import datetime as dt

from households.models import Job, Notice, SetupDraft
from households.models.job import EVERYWHERE

from .work import Step, Work

NAME = "canary"
EVERY = dt.timedelta(seconds=60)
TOO_OLD = dt.timedelta(seconds=300)
KEPT = dt.timedelta(days=1)
DRAFTS_KEPT = dt.timedelta(days=90)  # chosen: whoever stopped in the middle may come back after a season


def plan_first(now: dt.datetime) -> None:
    """Promise the first one where none stands; called whenever the loop begins."""
    if not Job.objects.filter(scope=EVERYWHERE, name=NAME, state__in=[Job.State.DUE, Job.State.RUNNING]).exists():
        _plan(now)


def _plan(at: dt.datetime) -> None:
    """Keys are whole minutes, so that loops which begin at once promise the same one, not a chain each."""
    minute = at.replace(second=0, microsecond=0)
    Job.plan(None, NAME, minute.isoformat(), minute)


def age(now: dt.datetime) -> dt.timedelta | None:
    """Time since the last one ended; None before the first."""
    last = Job.objects.filter(scope=EVERYWHERE, name=NAME, state=Job.State.DONE).order_by("-done_at").first()
    return now - last.done_at if last and last.done_at else None


def _nothing(_: object) -> None:
    return None


def _apply(step: Step, _: None) -> None:
    """Clear away what is over: sung canaries and sign-in mail, sent or not, or a row a minute piles up.

    And set-ups that nobody came back to: they may hold somebody else's address.
    """
    done = Job.objects.filter(scope=EVERYWHERE, name__in=[NAME, "deliver"], state=Job.State.DONE)
    done.filter(done_at__lt=step.now - KEPT).delete()
    Notice.objects.filter(building__isnull=True, created_at__lt=step.now - KEPT).delete()
    SetupDraft.objects.filter(changed_at__lt=step.now - DRAFTS_KEPT).delete()


def _follow(step: Step) -> None:
    _plan(max(dt.datetime.fromisoformat(step.due.key), step.now) + EVERY)


WORK = Work(_nothing, _nothing, _apply, follow=_follow)
