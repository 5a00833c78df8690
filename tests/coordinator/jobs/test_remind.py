"""Reminders: once, by day, one message a household and day, by the channel that each person chose."""

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.mail import EmailMessage

from bins.slots.booking import cancel
from bins.slots.contact import Contact, set_contact
from bins.slots.moving import settle_slots
from coordinator.jobs.run import run_due
from households.ledger import open_ledger
from households.models import Account, Booking, Building, Job, Notice, Person, Reminder
from households.reminders import remind
from households.tenancy import inside
from tests.bins.slots.slotted import SATURDAY, TUESDAY, book_in, home, open_again, shut, slot_in
from tests.cast import NOW, Cast, account_of, newcomer
from tests.filled import go_outside

pytestmark = pytest.mark.embedded


def at(day: int, hour: int, minute: int = 0) -> dt.datetime:
    """An hour of May 2026 on Berlin's clock."""
    return dt.datetime(2026, 5, day, hour - 2, minute, tzinfo=dt.UTC)


def booked(cast: Cast, *days: dt.date, person: Person | None = None) -> list[Booking]:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households=9)
        rows = [book_in(here, slot, person or cast.resident, day) for day in days]
    go_outside()
    return rows


def told(box: list[EmailMessage]) -> list[tuple[list[str], str]]:
    """To whom, and the lines that speak of something; the box is emptied."""
    found = [(mail.to, str(mail.body)) for mail in box]
    box.clear()
    return found


def settle(cast: Cast, now: dt.datetime, *, open_: bool) -> None:
    with inside(cast.building.uid) as here:
        (open_again if open_ else shut)(here, cast)
        with open_ledger(here) as ledger:
            settle_slots(ledger.building, now)
    go_outside()


def test_the_day_before_at_five_a_household_is_reminded_once(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    booked(cast, SATURDAY)
    run_due(at(8, 16, 59))
    assert told(mailoutbox) == []
    run_due(at(8, 17))
    ((to, body),) = told(mailoutbox)
    assert to == ["imani@quince-court.invalid"]
    assert body.startswith("Saturday, May 9, 6 p.m. to 7 p.m.: that is your time at Courtyard.")
    run_due(at(8, 18))
    run_due(at(9, 8))
    assert told(mailoutbox) == []


def test_what_was_taken_back_is_not_reminded_of(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    (row,) = booked(cast, SATURDAY)
    with inside(cast.building.uid) as here:
        cancel(building=here, row=row, now=NOW)
    go_outside()
    run_due(at(8, 17))
    assert told(mailoutbox) == []


def test_the_first_thing_due_takes_along_all_of_that_day_in_one_message(
    cast: Cast, mailoutbox: list[EmailMessage]
) -> None:
    booked(cast, SATURDAY, dt.date(2026, 5, 12), dt.date(2026, 5, 16))
    with inside(cast.building.uid) as here:
        Reminder.objects.within(here).filter(begins_at__gte=at(12, 3)).update(due_at=at(8, 7))
    go_outside()
    with inside(cast.building.uid) as here:
        Job.plan(here, "remind", at(8, 7).isoformat(timespec="seconds"), at(8, 7))
    go_outside()
    run_due(at(8, 7))
    ((_to, body),) = told(mailoutbox)
    assert body.count("that is your time") == 3
    run_due(at(8, 17))
    assert told(mailoutbox) == [], "Saturday's line went along in the morning"


def test_a_household_that_has_heard_today_hears_the_rest_tomorrow_at_seven(
    cast: Cast, mailoutbox: list[EmailMessage]
) -> None:
    _saturday, tuesday = booked(cast, SATURDAY, dt.date(2026, 5, 12))
    run_due(at(8, 17))
    told(mailoutbox)
    with inside(cast.building.uid) as here:
        remind(
            here, home(cast.resident), "moved", about=tuesday.uid, version=1, begins_at=tuesday.begins_at,
            due_at=at(8, 18),
        )  # fmt: skip
    go_outside()
    run_due(at(8, 18))
    assert told(mailoutbox) == []
    run_due(at(9, 6, 59))
    assert told(mailoutbox) == []
    run_due(at(9, 7))
    assert [body.splitlines()[0] for _to, body in told(mailoutbox)] == [
        "Tuesday, May 12, 6 p.m. to 7 p.m.: that is the new hour of your time at Courtyard."
    ]


def test_a_shut_hatch_does_not_wait_for_tomorrow(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    booked(cast, SATURDAY)
    run_due(at(8, 17))
    told(mailoutbox)
    settle(cast, at(8, 19), open_=False)
    run_due(at(8, 19))
    ((_to, body),) = told(mailoutbox)
    assert "nothing is open then. Please take your scraps there instead: the brown bin by the gate." in body


def test_news_of_the_night_is_told_at_seven_and_not_at_nine_in_the_evening(
    cast: Cast, mailoutbox: list[EmailMessage]
) -> None:
    booked(cast, SATURDAY)
    settle(cast, at(5, 21), open_=False)
    for hour, minute, mails in ((21, 0, 0), (22, 0, 0)):
        run_due(at(5, hour, minute))
        assert len(told(mailoutbox)) == mails
    run_due(at(6, 6, 59))
    assert told(mailoutbox) == []
    run_due(at(6, 7))
    assert len(told(mailoutbox)) == 1
    settle(cast, at(6, 20, 59), open_=True)
    run_due(at(6, 20, 59))
    ((_to, body),) = told(mailoutbox)
    assert "a hatch is open again" in body


def test_after_an_outage_what_is_over_is_not_told_and_nobody_is_woken(
    cast: Cast, mailoutbox: list[EmailMessage]
) -> None:
    booked(cast, TUESDAY + dt.timedelta(days=4), dt.date(2026, 5, 12))
    run_due(at(9, 22))  # the worker comes back on the night after Saturday
    assert told(mailoutbox) == []
    run_due(at(10, 7))
    assert told(mailoutbox) == [], "Saturday is over, Tuesday is not due"
    run_due(at(11, 17))
    assert len(told(mailoutbox)) == 1


def phone(here: Building, person: Person, channel: str, number: str = "+4915112345678") -> None:
    set_contact(building=here, person=person, told=Contact.from_raw({"channel": channel, "phone": number}))


def test_each_person_of_a_household_hears_by_the_own_channel_in_the_own_language(
    cast: Cast, mailoutbox: list[EmailMessage], settings: Any, tmp_path: Path
) -> None:
    settings.DATA_DIR = tmp_path
    booked(cast, SATURDAY)
    aunt = newcomer(cast.building, "Oba", "Flat 3", "resident")
    child = newcomer(cast.building, "Ife", "Flat 3", "resident")
    Account.objects.filter(pk=account_of(aunt).pk).update(language="es")
    with inside(cast.building.uid) as here:
        phone(here, cast.resident, "sms")
        phone(here, child, "none")
    go_outside()
    run_due(at(8, 17))
    (text,) = [json.loads(line) for line in (tmp_path / "texts.jsonl").read_text().splitlines()]
    assert text == {
        "to": "+4915112345678",
        "text": "Saturday, May 9, 6 p.m. to 7 p.m.: that is your time at Courtyard.",
    }
    assert [to for to, _body in told(mailoutbox)] == [["oba@quince-court.invalid"]]


@pytest.mark.parametrize(("ceiling", "texts", "mails"), [(0, 0, 2), (1, 1, 1), (2, 2, 0)])
def test_past_the_months_ceiling_texts_go_by_mail(
    cast: Cast, mailoutbox: list[EmailMessage], settings: Any, tmp_path: Path, ceiling: int, texts: int, mails: int
) -> None:
    settings.DATA_DIR, settings.SMS_MONTHLY_CEILING = tmp_path, ceiling
    booked(cast, SATURDAY)
    booked(cast, SATURDAY, person=cast.neighbour)
    with inside(cast.building.uid) as here:
        phone(here, cast.resident, "sms")
        phone(here, cast.neighbour, "sms", "0049 151 / 8765432")
    go_outside()
    run_due(at(8, 17))
    with inside(cast.building.uid) as here:
        assert Notice.objects.filter(building=here, channel="sms").count() == texts
    assert len(told(mailoutbox)) == mails


def test_the_ceiling_begins_anew_with_the_buildings_own_month(cast: Cast, settings: Any) -> None:
    from coordinator.reminding import texts_left

    settings.SMS_MONTHLY_CEILING = 2
    with inside(cast.building.uid) as here:
        Notice.post(building=here, channel="sms", kind="x", to="+491", subject="", body="b", due_at=at(31, 23, 59))
        assert texts_left(here, at(31, 23, 59)) == 1
        assert texts_left(here, at(31, 23, 59) + dt.timedelta(minutes=1)) == 2


def test_a_number_is_kept_only_while_it_is_used(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        phone(here, cast.resident, "sms")
        phone(here, cast.resident, "mail")
        assert Person.objects.within(here).get(pk=cast.resident.pk).phone == ""
