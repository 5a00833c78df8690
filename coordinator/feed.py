"""A person's calendar as a file of RFC 5545: own times and duties, and no name in it.

UIDs stay, SEQUENCE rises with each change, what was cancelled stays in with STATUS:CANCELLED. Instants are written in
UTC: an occurrence is an event of its own, so that no program has to expand our rules.
"""

import datetime as dt
from collections.abc import Iterable

from django.utils.translation import gettext as _
from icalendar import Calendar, Event

from bins.slots.duty_entries import Entry
from households.models import Booking, Building, DutyKind

PRODUCT = "-//compost drums//calendar//EN"
REFRESH = dt.timedelta(hours=6)  # chosen: news of the night is there by breakfast


def calendar(building: Building, bookings: Iterable[Booking], entries: Iterable[Entry]) -> bytes:
    """The calendar in the language in force. Bookings come with slot and site, entries with kind and site."""
    found = Calendar()
    found.add("prodid", PRODUCT)
    found.add("version", "2.0")
    found.add("method", "PUBLISH")
    found.add("x-wr-calname", _("%(building)s: drums") % {"building": building.name})
    found.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    for booking in bookings:
        found.add_component(_of_booking(booking))
    for entry in entries:
        found.add_component(_of_duty(entry))
    return bytes(found.to_ical())


def _of_booking(row: Booking) -> Event:
    stands = row.state == Booking.State.KEPT
    event = _event(str(row.uid), row.sequence, row.changed_at, stands)
    event.add("dtstart", row.begins_at.astimezone(dt.UTC))
    event.add("dtend", row.ends_at.astimezone(dt.UTC))
    event.add("summary", _("Scraps to drum %(number)s") % {"number": row.lane})
    event.add("location", row.slot.site.name)
    if row.state == Booking.State.OFF:
        event.add(
            "description", _("Nothing is open then. Instead: %(fallback)s") % {"fallback": row.slot.site.fallback}
        )
    return event


def _of_duty(entry: Entry) -> Event:
    event = _event(str(entry.uid), entry.sequence, entry.changed_at, not entry.is_cancelled)
    duty = entry.duty
    if entry.begins_at is None:
        event.add("dtstart", duty.day)
        event.add("dtend", duty.day + dt.timedelta(days=1))
        event.add("transp", "TRANSPARENT")  # at any time of the day: it blocks none
    else:
        event.add("dtstart", entry.begins_at.astimezone(dt.UTC))
        event.add("dtend", (entry.begins_at + dt.timedelta(minutes=duty.minutes)).astimezone(dt.UTC))
    event.add("summary", _("Duty: %(work)s") % {"work": DutyKind.Work(duty.kind.work).label})
    event.add("location", duty.kind.site.name)
    return event


def _event(uid: str, sequence: int, changed_at: dt.datetime, stands: bool) -> Event:
    event = Event()
    event.add("uid", uid)
    event.add("sequence", sequence)
    event.add("dtstamp", changed_at.astimezone(dt.UTC))
    event.add("last-modified", changed_at.astimezone(dt.UTC))
    event.add("status", "CONFIRMED" if stands else "CANCELLED")
    return event
