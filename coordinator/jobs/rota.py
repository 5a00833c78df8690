"""A plan as a job: gathered, solved with no transaction open, and kept; gathered again where something moved."""

from dataclasses import dataclass
from uuid import UUID

from bins.duties.drafting import WorkedOut, has_moved, keep, work_out
from bins.duties.planning import gather
from households.models import RotaDraft
from households.rota.problem import Problem

from .work import Step, Work


@dataclass(frozen=True)
class Found:
    problem: Problem
    rests_on: str
    is_again: bool


def _gather(step: Step) -> Found | None:
    """None for a plan that nobody waits for any more."""
    draft = _draft(step)
    if draft is None:
        return None
    found = gather(step.home, draft.site, draft.first_on, draft.last_on, step.now)
    return Found(found.problem, found.mark, draft.is_again)


def _decide(found: Found | None) -> WorkedOut | None:
    return WorkedOut(found.rests_on, work_out(found.problem, found.is_again)) if found is not None else None


def _moved(step: Step, worked_out: WorkedOut | None) -> bool:
    draft = _draft(step)
    return worked_out is not None and draft is not None and has_moved(step.home, draft, worked_out.rests_on, step.now)


def _apply(step: Step, worked_out: WorkedOut | None) -> None:
    if worked_out is not None:
        keep(step.home, UUID(step.due.key), worked_out, step.now)


def _draft(step: Step) -> RotaDraft | None:
    waiting = RotaDraft.objects.within(step.home).filter(uid=step.due.key, done_at__isnull=True)
    return waiting.select_related("site").first()


WORK = Work(_gather, _decide, _apply, moved=_moved)
