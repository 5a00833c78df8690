"""Sending what is due to be told: each household once a day, in one message, by the channel each person chose.

It all happens in the last step, with the building locked: what is told and what was told stand in one transaction,
so that nothing is told twice. The message itself is carried by the job `deliver`.
"""

from ..reminding import send_due
from .work import Step, Work


def _gather(step: Step) -> None:
    """What is due is looked at when it is written."""


def _decide(gathered: None) -> None:
    """The rule is a date."""


def _apply(step: Step, decided: None) -> None:
    send_due(step.home, step.now, step.name_space)


WORK = Work(_gather, _decide, _apply)
