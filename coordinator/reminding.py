"""One message a household and day: what is due, put together, worded and handed to the outbox."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from uuid import UUID, uuid5

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import override

from bins.slots import duty_entries
from households import reminders
from households.models import Booking, Building, Notice, Person, Reminder
from households.quiet import DAY_BEGINS, due_by_day

from .reminder_words import line

# Whoever does not hear of it walks to a shut hatch, or leaves an open one alone: these don't wait for tomorrow.
URGENT = frozenset({Reminder.Kind.OFF, Reminder.Kind.AGAIN})
KIND = "reminder"


def send_due(building: Building, now: dt.datetime, name_space: UUID) -> None:
    """Write the messages that are due, and mark what they tell as sent. Call with the building locked.

    The messages take their uid from `name_space`.

    The first thing due on a local day takes along all that would be due later that day. A household that has heard
    today hears more only of a hatch that was shut or opened again, or of what begins before tomorrow's 07:00; the
    rest waits for that. What is over by now is told no more. By night nothing is told.
    """
    by_day = due_by_day(building, now)
    if by_day != now:
        reminders.look_at(building, by_day)
        return
    today = building.local(now).date()
    tomorrow = building.instant(today + dt.timedelta(days=1))
    next_morning = building.instant(today + dt.timedelta(days=1), DAY_BEGINS)
    rows = Reminder.objects.within(building).filter(sent_at__isnull=True, due_at__lt=tomorrow)
    rows.filter(begins_at__lte=now).delete()
    given_away = duty_entries.given_away(building, rows.filter(kind=Reminder.Kind.DUTY).values_list("about", flat=True))
    rows.filter(about__in=given_away).delete()
    waiting: defaultdict[int, list[Reminder]] = defaultdict(list)
    for row in rows.order_by("begins_at", "pk"):
        waiting[row.household_id].append(row)
    heard = set(
        Reminder.objects.within(building)
        .filter(household__in=waiting, sent_at__gte=building.instant(today))
        .values_list("household", flat=True)
    )
    told: dict[int, list[Reminder]] = {}
    later: list[Reminder] = []
    for household, items in waiting.items():
        due = [item for item in items if item.due_at <= now]
        if household in heard:
            later += [item for item in due if item.kind not in URGENT and item.begins_at > next_morning]
            due = items = [item for item in due if item not in later]
        if due:
            told[household] = items
    _write(building, told, now, name_space)
    sent = [item.pk for items in told.values() for item in items]
    Reminder.objects.within(building).filter(pk__in=sent).update(sent_at=now)
    if later:
        Reminder.objects.within(building).filter(pk__in=[item.pk for item in later]).update(due_at=next_morning)
        reminders.look_at(building, next_morning)


def _write(building: Building, told: dict[int, list[Reminder]], now: dt.datetime, name_space: UUID) -> None:
    about = {item.about for items in told.values() for item in items}
    bookings = {
        row.uid: row for row in Booking.objects.within(building).filter(uid__in=about).select_related("slot__site")
    }
    left = texts_left(building, now) if told else 0
    people = Person.objects.within(building).filter(household__in=told).select_related("account").order_by("pk")
    for person in people.exclude(channel=Person.Channel.NONE):
        account = person.account
        uid = uuid5(name_space, str(person.uid))
        with override(account.language if account else person.language):
            lines = [line(item, bookings.get(item.about), building) for item in told[person.household_id]]
            if person.channel == Person.Channel.SMS and left > 0:
                left -= 1
                text = "\n".join(lines)
                Notice.post(
                    building=building, channel=Notice.Channel.SMS, kind=KIND, to=person.phone, subject="", body=text,
                    due_at=now, uid=uid,
                )  # fmt: skip
            elif account is not None and account.is_active:
                subject = _("%(building)s: your times and duties") % {"building": building.name}
                Notice.post(
                    building=building, kind=KIND, to=account.email, subject=subject, body=letter(building, lines),
                    due_at=now, uid=uid,
                )  # fmt: skip


def letter(building: Building, lines: Sequence[str]) -> str:
    """The body of a mail: the lines, and where all of it stands."""
    parts = list(lines)
    if settings.PUBLIC_URL:
        parts.append(settings.PUBLIC_URL + reverse("mine", args=[building.uid]))
    parts.append(_("On the same page you choose how we write to you, or that we don't."))
    return "\n\n".join(parts)


def texts_left(building: Building, now: dt.datetime) -> int:
    """Text messages that the building may still send in this local month."""
    first = building.instant(building.local(now).date().replace(day=1))
    sent = Notice.objects.filter(building=building, channel=Notice.Channel.SMS, created_at__gte=first).count()
    return max(0, settings.SMS_MONTHLY_CEILING - sent)
