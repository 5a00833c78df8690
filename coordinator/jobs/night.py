"""The night of a building as a job: what bins decides, in the runner's three steps."""

import datetime as dt

from bins.care.pulse import take_pulse
from bins.decisions import night
from bins.forecasts import night as forecast_night
from bins.process.proposal import Proposal
from bins.slots import duty_entries
from bins.slots.moving import settle_slots

from .work import Step, Work


def _day(step: Step) -> dt.date:
    return dt.date.fromisoformat(step.due.key)


def _gather(step: Step) -> night.Gathered | None:
    """None for a night that comes too late: it is done without deciding anything."""
    if night.is_too_late(step.home, _day(step), step.now):
        return None
    return night.gather(step.home, night.as_of(step.home, _day(step)))


def _decide(gathered: night.Gathered | None) -> tuple[Proposal, ...] | None:
    return None if gathered is None else night.decide(gathered)


def _apply(step: Step, proposals: tuple[Proposal, ...] | None) -> None:
    if proposals is not None:
        night.apply(step.home, proposals, night.as_of(step.home, _day(step)), step.name_space)
    if _day(step) == step.home.local(step.now).date():  # of missed nights the last one says how things stand
        at = night.as_of(step.home, _day(step))
        take_pulse(step.home, at)
        settle_slots(step.home, at)
        duty_entries.settle(step.home, at)
        forecast_night.promise(step.home, _day(step))


def _follow(step: Step) -> None:
    night.promise_after(step.home, _day(step), step.now)


WORK = Work(_gather, _decide, _apply, reads_ledger=True, follow=_follow)
