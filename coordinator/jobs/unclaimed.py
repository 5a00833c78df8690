"""After the last day for fetching: what bins finds lying, in the runner's three steps."""

import datetime as dt

from bins.harvests import unclaimed

from .work import Step, Work


def _day(step: Step) -> dt.date:
    return dt.date.fromisoformat(step.due.key)


def _gather(step: Step) -> tuple[unclaimed.Waiting, ...]:
    return unclaimed.gather(step.home, _day(step))


def _apply(step: Step, left: tuple[unclaimed.Left, ...]) -> None:
    unclaimed.apply(step.home, left, unclaimed.as_of(step.home, _day(step)), step.now, step.name_space)


WORK = Work(_gather, unclaimed.decide, _apply, reads_ledger=True)
