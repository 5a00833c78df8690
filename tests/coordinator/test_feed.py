"""The calendar at a secret address, read back by a calendar library: stable names, rising numbers, nobody else."""

import datetime as dt
import io
import logging
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
import time_machine
from django.test import Client
from django.urls import reverse

from bins.slots import duty_entries
from bins.slots.booking import cancel
from bins.slots.contact import end_feed, new_feed
from bins.slots.slots import Hours, change_hours
from coordinator.logs import WithoutSecrets
from households.models import Account, Booking, Building, Duty, DutyAssignment, DutyKind, Person, RotaPlan
from households.tenancy import inside
from tests.bins.slots.slotted import SATURDAY, TUESDAY, book_in, home, shut, slot_in
from tests.cast import NOW, Cast, account_of
from tests.filled import draft, go_outside

pytestmark = pytest.mark.embedded
BERLIN = ZoneInfo("Europe/Berlin")
DAY = dt.timedelta(days=1)


def secret_of(cast: Cast, person: Person) -> str:
    with inside(cast.building.uid) as here:
        secret = new_feed(building=here, person=person, now=NOW)
    go_outside()
    return secret


def fetch(cast: Cast, secret: str, now: dt.datetime = NOW, building: Building | None = None) -> Any:
    with time_machine.travel(now, tick=False):
        return Client().get(reverse("feed", args=[(building or cast.building).uid, secret]))


def events(cast: Cast, secret: str, now: dt.datetime = NOW) -> dict[str, icalendar.Event]:
    response = fetch(cast, secret, now)
    assert response.status_code == 200
    read = icalendar.Calendar.from_ical(response.content)
    return {str(event["uid"]): event for event in read.walk("VEVENT")}


def booked(cast: Cast, day: dt.date = SATURDAY) -> Booking:
    with inside(cast.building.uid) as here:
        row = book_in(here, slot_in(here, cast), cast.resident, day)
    go_outside()
    return row


def test_a_calendar_program_reads_own_times_in_utc(cast: Cast) -> None:
    row, secret = booked(cast), secret_of(cast, cast.resident)
    response = fetch(cast, secret)
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    assert response["Cache-Control"] == "private, no-store"
    (event,) = recurring_ical_events.of(icalendar.Calendar.from_ical(response.content)).between(TUESDAY, SATURDAY + DAY)
    assert (str(event["uid"]), event["sequence"], str(event["status"])) == (str(row.uid), 0, "CONFIRMED")
    assert event["dtstart"].dt == dt.datetime(2026, 5, 9, 16, 0, tzinfo=dt.UTC)
    assert event["dtend"].dt.astimezone(BERLIN) == dt.datetime(2026, 5, 9, 19, 0, tzinfo=BERLIN)
    assert (str(event["summary"]), str(event["location"])) == ("Scraps to drum 1", "Courtyard")


def test_each_change_raises_the_number_and_what_is_cancelled_stays_in(cast: Cast) -> None:
    row, secret = booked(cast), secret_of(cast, cast.resident)
    uid = str(row.uid)
    with inside(cast.building.uid) as here:
        told = Hours.from_raw({"begins_at": "19:00", "households": 2})
        change_hours(building=here, slot=row.slot, told=told, person=None, now=NOW)
    go_outside()
    moved = events(cast, secret)[uid]
    assert (moved["sequence"], moved["dtstart"].dt) == (1, dt.datetime(2026, 5, 9, 17, 0, tzinfo=dt.UTC))
    with inside(cast.building.uid) as here:
        cancel(building=here, row=row, now=NOW + DAY)
    go_outside()
    gone = events(cast, secret, NOW + 2 * DAY)[uid]
    assert (gone["sequence"], str(gone["status"]), gone["dtstamp"].dt) == (2, "CANCELLED", NOW + DAY)
    assert uid in events(cast, secret, row.begins_at + 29 * DAY), "a month after it still says so"


def test_a_time_that_is_off_is_cancelled_with_the_way_out(cast: Cast) -> None:
    from bins.slots.moving import settle_slots
    from households.ledger import open_ledger

    row, secret = booked(cast), secret_of(cast, cast.resident)
    with inside(cast.building.uid) as here:
        shut(here, cast)
        with open_ledger(here) as ledger:
            settle_slots(ledger.building, NOW)
    go_outside()
    event = events(cast, secret)[str(row.uid)]
    assert (str(event["status"]), event["sequence"]) == ("CANCELLED", 1)
    assert "the brown bin by the gate" in str(event["description"])


def test_nobody_elses_time_and_no_name_is_in_it(cast: Cast) -> None:
    row, secret = booked(cast), secret_of(cast, cast.resident)
    with inside(cast.building.uid) as here:
        book_in(here, row.slot, cast.neighbour, SATURDAY)
        labels = [home(cast.resident).label, home(cast.neighbour).label]
    go_outside()
    text = fetch(cast, secret).content.decode()
    assert text.count("BEGIN:VEVENT") == 1
    names = [person.name for person in (cast.resident, cast.neighbour, *cast.people.values())]
    assert [word for word in [*names, *labels, "@", "ATTENDEE", "ORGANIZER"] if word in text] == []


def test_an_address_that_was_ended_renewed_or_belongs_elsewhere_opens_nothing(cast: Cast) -> None:
    old = secret_of(cast, cast.resident)
    assert fetch(cast, old).status_code == 200
    assert fetch(cast, old, building=cast.elsewhere).status_code == 404
    assert fetch(cast, "made-up").status_code == 404
    new = secret_of(cast, cast.resident)
    assert (fetch(cast, old).status_code, fetch(cast, new).status_code) == (404, 200)
    with inside(cast.building.uid) as here:
        end_feed(building=here, person=cast.resident, now=NOW)
    go_outside()
    assert fetch(cast, new).status_code == 404


def test_an_address_opens_while_its_person_lives_here_and_is_not_shut_out(cast: Cast) -> None:
    secret = secret_of(cast, cast.resident)
    with inside(cast.building.uid):
        cast.resident.roles.all().update(ends_on=NOW.date())
    go_outside()
    # Midnight in Berlin is 22:00 UTC.
    last = dt.datetime(2026, 5, 4, 21, 59, 59, tzinfo=dt.UTC)
    assert (fetch(cast, secret, last).status_code, fetch(cast, secret, last + dt.timedelta(seconds=1)).status_code) == (
        200,
        404,
    )
    Account.objects.filter(pk=account_of(cast.resident).pk).update(is_active=False)
    assert fetch(cast, secret).status_code == 404


def test_it_speaks_the_persons_language_whoever_fetches_it(cast: Cast) -> None:
    booked(cast)
    secret = secret_of(cast, cast.resident)
    Account.objects.filter(pk=account_of(cast.resident).pk).update(language="fr")
    english = Client().get(reverse("feed", args=[cast.building.uid, secret]), headers={"accept-language": "en"})
    french = Client().get(reverse("feed", args=[cast.building.uid, secret]), headers={"accept-language": "fr"})
    assert english.content == french.content


def a_duty(here: Building, cast: Cast, day: dt.date, begins_at: dt.time | None = None) -> Duty:
    fixed = {"site_id": cast.drum.site.pk}
    kind: Any = draft(DutyKind, here, **fixed)
    kind.work, kind.rule, kind.starts_on, kind.minutes = "turning", "FREQ=WEEKLY", day, 30
    kind.save()
    plan: Any = draft(RotaPlan, here, **fixed)
    plan.save()
    duty: Duty = Duty.objects.create(
        building=here, uid=uuid4(), kind=kind, plan=plan, day=day, begins_at=begins_at, least=1, usual=1, minutes=30,
        is_heavy=False,
    )  # fmt: skip
    return duty


def give(here: Building, duty: Duty, person: Person) -> None:
    DutyAssignment.objects.within(here).filter(duty=duty).delete()
    DutyAssignment.objects.create(building=here, uid=uuid4(), duty=duty, number=1, household=home(person))


def test_a_duty_that_is_given_away_stays_as_cancelled_and_comes_back_under_its_own_name(cast: Cast) -> None:
    secret = secret_of(cast, cast.resident)
    with inside(cast.building.uid) as here:
        duty = a_duty(here, cast, SATURDAY)
        give(here, duty, cast.resident)
        duty_entries.settle(here, NOW)
    go_outside()
    ((uid, event),) = events(cast, secret).items()
    assert (event["dtstart"].dt, event["dtend"].dt, event["sequence"]) == (SATURDAY, SATURDAY + DAY, 0)
    assert str(event["summary"]) == "Duty: turning the drums"
    seen = []
    for person in (cast.neighbour, cast.resident):
        with inside(cast.building.uid) as here:
            give(here, duty, person)
        go_outside()
        before = events(cast, secret)[uid]
        with inside(cast.building.uid) as here:
            duty_entries.settle(here, NOW)
            duty_entries.settle(here, NOW)
        go_outside()
        after = events(cast, secret)[uid]
        assert (before["sequence"], str(before["status"])) == (after["sequence"], str(after["status"])), "at once"
        seen.append((after["sequence"], str(after["status"])))
    assert seen == [(1, "CANCELLED"), (2, "CONFIRMED")]


def test_a_duty_with_an_hour_is_read_on_the_local_clock(cast: Cast) -> None:
    secret = secret_of(cast, cast.resident)
    with inside(cast.building.uid) as here:
        give(here, a_duty(here, cast, SATURDAY, dt.time(10, 30)), cast.resident)
    go_outside()
    (event,) = events(cast, secret).values()
    assert event["dtstart"].dt == dt.datetime(2026, 5, 9, 8, 30, tzinfo=dt.UTC)
    assert event["dtend"].dt - event["dtstart"].dt == dt.timedelta(minutes=30)


def test_a_slot_keeps_its_wall_time_in_the_calendar_over_the_end_of_october(cast: Cast) -> None:
    secret = secret_of(cast, cast.resident)
    october = dt.datetime(2026, 10, 20, 8, 0, tzinfo=dt.UTC)
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, rule="FREQ=WEEKLY;BYDAY=SA,TU")
        for day in (dt.date(2026, 10, 24), dt.date(2026, 10, 27)):
            book_in(here, slot, cast.resident, day, now=october)
    go_outside()
    found = events(cast, secret, october).values()
    # The tz database: Berlin goes from +2 to +1 on 25 October 2026.
    assert sorted(event["dtstart"].dt.hour for event in found) == [16, 17]
    assert {event["dtstart"].dt.astimezone(BERLIN).hour for event in found} == {18}


def test_the_address_of_a_calendar_stands_in_no_log(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    (ours,) = [one for one in logging.getLogger().handlers if any(isinstance(f, WithoutSecrets) for f in one.filters)]
    assert isinstance(ours, logging.StreamHandler)
    written = io.StringIO()
    monkeypatch.setattr(ours, "stream", written)
    secret = secret_of(cast, cast.resident)
    address = reverse("feed", args=[cast.building.uid, secret])
    assert Client().generic("PROPFIND", address).status_code == 405  # as calendar programs ask
    assert Client().get(address.replace(secret, secret[:-1])).status_code == 404
    assert f"Method Not Allowed: /b/{cast.building.uid}/calendar/..." in written.getvalue()
    assert secret[:-1] not in written.getvalue()
