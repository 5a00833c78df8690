"""A month closes by itself on the 10th, unless the committee closed it before."""

import datetime as dt

from bins.months import calendar, close
from bins.months.figures import Figures, month

from .work import Step, Work


def _first_day(step: Step) -> dt.date:
    return dt.date.fromisoformat(step.due.key)


def _gather(step: Step) -> Figures:
    return month(step.home, _first_day(step))


def _as_it_is(figures: Figures) -> Figures:
    return figures


def _apply(step: Step, figures: Figures) -> None:
    if close.closing_of(step.home, figures.first_day) is None:
        close.write(step.home, figures, None, close.closes_at(step.home, figures.first_day))


def _follow(step: Step) -> None:
    close.promise(step.home, calendar.after(_first_day(step)))


WORK = Work(_gather, _as_it_is, _apply, reads_ledger=True, follow=_follow)
