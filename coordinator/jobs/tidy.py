"""The nightly tidying as a job: nothing to think about, only what may not be kept longer."""

import datetime as dt

from bins.cases import cases
from bins.people import moving_out, tidy
from bins.sheets import importing
from bins.slots import forgetting
from households import kept_files

from .work import Step, Work


def _gather(step: Step) -> None:
    """What is too old is asked for when it is deleted."""


def _decide(gathered: None) -> None:
    """The rules are dates."""


def _apply(step: Step, decided: None) -> None:
    importing.forget_files(step.home, step.now)
    cases.forget_words(step.home, step.now)
    kept_files.forget_old(step.home, step.now)
    moving_out.settle_all(step.home, step.now)
    forgetting.forget(step.home, step.now)


def _follow(step: Step) -> None:
    tidy.promise_next(step.home, max(dt.date.fromisoformat(step.due.key), step.home.local(step.now).date()))


WORK = Work(_gather, _decide, _apply, follow=_follow)
