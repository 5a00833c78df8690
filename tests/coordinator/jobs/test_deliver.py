"""The outbox: at least once, emptied when sent, tried again while mail fails."""

import datetime as dt
import threading
from typing import Any

import pytest
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend

from coordinator.jobs import canary, loop, run
from coordinator.jobs.claim import LEASE
from households.models import Account, Job, Notice, SetupDraft
from households.models.job import EVERYWHERE
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of

pytestmark = pytest.mark.embedded


class Broken(BaseEmailBackend):
    def send_messages(self, _: Any) -> int:
        raise ConnectionRefusedError("nobody takes mail here")


def post(cast: Cast) -> Notice:
    with inside(cast.building.uid) as here:
        return Notice.post(
            building=here,
            kind="welcome",
            to="imani@quince-court.invalid",
            subject="Welcome",
            body="Hatch A.",
            due_at=NOW,
        )


def post_code(at: dt.datetime = NOW) -> Notice:
    return Notice.post(
        building=None, kind="sign-in", to="imani@quince-court.invalid", subject="Code", body="K7Q2", due_at=at
    )


def again(notice: Notice, cast: Cast | None = None) -> tuple[dt.datetime | None, str]:
    if cast is None:
        notice.refresh_from_db()
    else:
        with inside(cast.building.uid):
            notice.refresh_from_db()
    return notice.sent_at, notice.body


def deliveries() -> list[tuple[str, int, str]]:
    return [*Job.objects.filter(name="deliver").values_list("state", "attempts", "last_error")]


def test_a_notice_is_sent_and_its_body_emptied(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    notice, code = post(cast), post_code()
    run.run_due(NOW)
    assert sorted((m.subject, m.body, m.to) for m in mailoutbox) == [
        ("Code", "K7Q2", ["imani@quince-court.invalid"]),
        ("Welcome", "Hatch A.", ["imani@quince-court.invalid"]),
    ]
    assert again(notice, cast) == (NOW, "")
    assert again(code) == (NOW, "")
    run.run_due(NOW + LEASE)
    assert len(mailoutbox) == 2


def test_letters_do_not_wait_for_other_jobs(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    Job.plan(None, "no such job", "slow", NOW - dt.timedelta(days=1))  # it has waited longest
    post(cast), post_code()
    assert run.run_due(NOW, only="deliver") == 2
    assert len(mailoutbox) == 2
    assert Job.objects.get(key="slow").state == "due"


def test_letters_are_looked_for_in_a_thread_of_their_own(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: dict[str, Any] = {}
    monkeypatch.setattr(
        loop, "keep_running", lambda _stop, run=run.run_due: asked.update({threading.current_thread().name: run})
    )
    monkeypatch.setattr(loop.signal, "signal", lambda *_: None)
    with loop.jobs_until_told_to_end():
        pass
    assert asked["jobs"] is run.run_due
    assert asked["letters"].keywords == {"only": "deliver"}


def test_the_invented_block_writes_to_nobody(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    Account.objects.filter(pk=account_of(cast.neighbour).pk).update(is_demo=True)
    notice, code = post(cast), post_code()
    run.run_due(NOW)
    assert [mail.subject for mail in mailoutbox] == ["Code"]
    assert again(notice, cast) == again(code) == (NOW, "")


def test_a_worker_killed_between_sending_and_noting_it_sends_again(
    db: None, mailoutbox: list[EmailMessage], monkeypatch: pytest.MonkeyPatch
) -> None:
    notice = post_code()

    def killed(*_: object) -> bool:
        raise SystemExit

    with monkeypatch.context() as patch:
        patch.setattr(run, "_apply", killed)
        with pytest.raises(SystemExit):
            run.run_due(NOW)
    assert (len(mailoutbox), again(notice)) == (1, (None, "K7Q2"))
    run.run_due(NOW + LEASE)
    assert (len(mailoutbox), again(notice)) == (2, (NOW + LEASE, ""))


def test_while_mail_fails_it_is_tried_again_and_parked_after_the_fifth(
    db: None, settings: Any, mailoutbox: list[EmailMessage]
) -> None:
    notice = post_code()
    good, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, f"{__name__}.Broken"
    error = "ConnectionRefusedError: nobody takes mail here"
    tried = []
    for second in range(0, 1800, 10):
        run.run_due(NOW + dt.timedelta(seconds=second))
        tried.append(deliveries()[0][1])
    assert [tried.index(attempt) * 10 for attempt in range(1, 6)] == [0, 30, 90, 210, 450]
    assert deliveries() == [("parked", 5, error)]
    assert again(notice) == (None, "K7Q2")
    settings.EMAIL_BACKEND = good
    run.run_due(NOW + dt.timedelta(hours=1))
    assert mailoutbox == [], "parked waits for a person"


def test_a_mail_that_failed_once_goes_out_at_the_next_try(
    db: None, settings: Any, mailoutbox: list[EmailMessage]
) -> None:
    post_code()
    good, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, f"{__name__}.Broken"
    run.run_due(NOW)
    settings.EMAIL_BACKEND = good
    run.run_due(NOW + dt.timedelta(seconds=30))
    assert (len(mailoutbox), deliveries()) == (1, [("done", 2, "")])


def test_after_a_day_neither_sung_canaries_nor_sign_in_mail_are_kept(
    db: None, settings: Any, mailoutbox: list[EmailMessage]
) -> None:
    canary.plan_first(NOW)
    post_code()
    run.run_due(NOW)
    settings.EMAIL_BACKEND = f"{__name__}.Broken"
    post_code(NOW + dt.timedelta(minutes=1))  # never sent: the code in it must not lie about for ever
    run.run_due(NOW + dt.timedelta(minutes=1))
    for hours in range(1, 26):
        run.run_due(NOW + dt.timedelta(hours=hours))
    assert not Notice.objects.filter(building__isnull=True).exists()
    left = Job.objects.filter(scope=EVERYWHERE, state="done")
    assert not left.filter(name="deliver").exists()
    assert left.filter(name="canary").count() <= 25


@pytest.mark.parametrize(("age", "left"), [(dt.timedelta(days=90), 1), (dt.timedelta(days=90, seconds=1), 0)])
def test_a_setup_that_nobody_came_back_to_goes_after_ninety_days(db: None, age: dt.timedelta, left: int) -> None:
    account = Account.objects.create_user("cleo@plum-lane.invalid", language="en")
    SetupDraft.objects.create(account=account, changed_at=NOW - age)
    canary.plan_first(NOW)
    run.run_due(NOW)
    assert SetupDraft.objects.count() == left
