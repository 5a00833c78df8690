"""A what-if as a job: the plan is read, lived with no transaction open while the row says how far it is, and kept."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from bins.forecasts.seasons import answer_of, live_all, plans_of
from bins.models import WhatIf
from bins.process.model.border import Plan
from households.tenancy import inside

from .work import Step, Work


@dataclass(frozen=True)
class Found:
    building: UUID
    row: UUID
    plans: tuple[Plan, ...]


def _gather(step: Step) -> Found | None:
    """None for a question that is no longer kept."""
    row = WhatIf.objects.within(step.home).filter(uid=step.due.key).select_related("site__rules").first()
    if row is None:
        return None
    return Found(step.home.uid, row.uid, plans_of(step.home, row, step.now))


def _decide(found: Found | None) -> dict[str, Any] | None:
    if found is None:
        return None

    def tell(done: int, all_days: int) -> None:
        # A short transaction of its own: whoever looks at the page meanwhile sees how far it is.
        with inside(found.building) as here:
            WhatIf.objects.within(here).filter(uid=found.row).update(done_days=done, all_days=all_days)

    return answer_of(found.plans, live_all(found.plans, tell))


def _apply(step: Step, answer: dict[str, Any] | None) -> None:
    if answer is not None:
        WhatIf.objects.within(step.home).filter(uid=step.due.key).update(result=answer, done_at=step.now)


WORK = Work(_gather, _decide, _apply)
