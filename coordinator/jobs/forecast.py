"""The night's forecast as a job. It rests on the books, so it is thought again where they move meanwhile."""

import datetime as dt

from bins.forecasts import night

from .work import Step, Work


def _day(step: Step) -> dt.date:
    return dt.date.fromisoformat(step.due.key)


def _gather(step: Step) -> night.Gathered | None:
    """None for a day that is over: the forecast of a later one stands in its stead."""
    return night.gather(step.home, _day(step)) if _day(step) == step.home.local(step.now).date() else None


def _decide(gathered: night.Gathered | None) -> night.Decided | None:
    return None if gathered is None else night.decide(gathered)


def _apply(step: Step, decided: night.Decided | None) -> None:
    if decided is not None:
        night.apply(step.home, decided, step.name_space)


WORK = Work(_gather, _decide, _apply, reads_ledger=True)
