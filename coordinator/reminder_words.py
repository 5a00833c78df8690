"""What a reminder says, in the reader's language, on the building's own clock."""

import datetime as dt

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from households.models import Booking, Building, DutyKind, Reminder


def span(building: Building, begins_at: dt.datetime, ends_at: dt.datetime) -> str:
    """ "Tuesday 5 May, 18:00 to 19:00", as the reader writes days and hours."""
    begin, end = building.local(begins_at), building.local(ends_at)
    return _("%(day)s, %(begin)s to %(end)s") % {
        "day": day_of(begin.date()),
        "begin": date_format(begin, "TIME_FORMAT"),
        "end": date_format(end, "TIME_FORMAT"),
    }


def day_of(day: dt.date) -> str:
    """ "Tuesday, May 5": the weekday first, since people live by it."""
    return _("%(weekday)s, %(day)s") % {
        "weekday": date_format(day, "l"),
        "day": date_format(day, "MONTH_DAY_FORMAT"),
    }


def line(row: Reminder, booking: Booking | None, building: Building) -> str:
    """One line of a message. `booking`, with slot and site, is what it is about, if it is about one."""
    if booking is None:
        return _duty(row, building)
    words = {"time": span(building, booking.begins_at, booking.ends_at), "site": booking.slot.site.name}
    figures = row.figures
    match row.kind:
        case Reminder.Kind.OFF:
            return _(
                "%(time)s: nothing is open then. Please take your scraps there instead: %(fallback)s. Your place is "
                "kept, and we write to you when a hatch is open again."
            ) % (words | {"fallback": figures["fallback"]})
        case Reminder.Kind.AGAIN:
            return _("%(time)s: a hatch is open again. Your place at %(site)s stands.") % words
        case Reminder.Kind.MOVED if "drum" in figures:
            return _("%(time)s: you come to drum %(number)s now.") % (words | {"number": figures["drum"]})
        case Reminder.Kind.MOVED:
            return _("%(time)s: that is the new hour of your time at %(site)s.") % words
        case Reminder.Kind.GONE:
            return _gone(figures) % (words | {"words": figures.get("words", "")})
    return _("%(time)s: that is your time at %(site)s.") % words


def _gone(figures: dict[str, str]) -> str:
    match figures.get("cause"):
        case "closure":
            return _("%(time)s does not take place: %(words)s. Please choose another time.")
        case "winter":
            return _("%(time)s does not take place: it is winter at %(site)s.")
    return _("%(time)s does not take place any more. Please choose another time.")


def _duty(row: Reminder, building: Building) -> str:
    begin = building.local(row.begins_at)
    work = dict(DutyKind.Work.choices).get(row.figures.get("work", ""), _("your duty"))
    words = {"day": day_of(begin.date()), "work": work, "begin": date_format(begin, "TIME_FORMAT")}
    if row.figures.get("timed"):
        return _("%(day)s at %(begin)s: your duty is %(work)s.") % words
    return _("%(day)s: your duty is %(work)s.") % words
