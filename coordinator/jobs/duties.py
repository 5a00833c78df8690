"""The duties' night, and the look at an opening three days ahead, as jobs."""

import datetime as dt

from bins.duties import attending, doing, nightly, openings
from households.models import Duty

from .work import Step, Work


def _gather(step: Step) -> None:
    """What is over, and who is away, is asked for when it is written."""


def _decide(gathered: None) -> None:
    """The rules are dates."""


def _apply_night(step: Step, decided: None) -> None:
    doing.lapse(step.home, step.now)
    attending.look(step.home, step.now)


def _follow(step: Step) -> None:
    nightly.promise_next(step.home, max(dt.date.fromisoformat(step.due.key), step.home.local(step.now).date()))


def _apply_opening(step: Step, decided: None) -> None:
    duty = Duty.objects.within(step.home).filter(uid=step.due.key).select_related("kind").first()
    if duty is not None:  # planned otherwise since: there is nothing to look at
        openings.tell_if_short(step.home, duty, step.now)


NIGHT = Work(_gather, _decide, _apply_night, follow=_follow)
OPENING = Work(_gather, _decide, _apply_opening)
