"""Delivering one notice of the outbox. At least once: a worker killed between sending and noting it sends again."""

from dataclasses import dataclass

from django.core.mail import EmailMessage

from households.models import Account, Notice

from ..texting import backend
from .work import Step, Work

NAME = "deliver"


@dataclass(frozen=True)
class Letter:
    channel: str
    to: str
    subject: str
    body: str


def _gather(step: Step) -> Letter | None:
    """None for what is sent already, and for the invented block, where anybody can be anybody and write to anybody."""
    if step.building is not None and Account.objects.filter(is_demo=True, people__building=step.building).exists():
        return None
    notice = Notice.objects.filter(uid=step.due.key, building=step.building, sent_at__isnull=True).first()
    return Letter(notice.channel, notice.to, notice.subject, notice.body) if notice else None


def _send(letter: Letter | None) -> None:
    if letter is None:
        return
    if letter.channel == Notice.Channel.SMS:
        backend().send(letter.to, letter.body)
    else:
        EmailMessage(letter.subject, letter.body, to=[letter.to]).send()


def _apply(step: Step, _: None) -> None:
    Notice.objects.filter(uid=step.due.key, building=step.building).update(sent_at=step.now, body="")


WORK = Work(_gather, _send, _apply)
