"""Set times in everyday words: on which days, at what hour, how many places are free."""

import datetime as dt
import re

from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext

from bins.slots.ahead import Occurrence
from bins.slots.slots import WEEKDAYS as CODES
from households.models import Slot

OF_THE_MONTH = {
    1: gettext_lazy("%(day)s: the first of the month"),
    2: gettext_lazy("%(day)s: the second of the month"),
    3: gettext_lazy("%(day)s: the third of the month"),
    4: gettext_lazy("%(day)s: the fourth of the month"),
    -1: gettext_lazy("%(day)s: the last of the month"),
}


def hours(slot: Slot) -> str:
    """ "6 p.m. to 7 p.m." on the wall."""
    begin = dt.datetime.combine(slot.starts_on, slot.begins_at)
    return _("%(begin)s to %(end)s") % {
        "begin": date_format(begin, "TIME_FORMAT"),
        "end": date_format(begin + dt.timedelta(minutes=slot.minutes), "TIME_FORMAT"),
    }


def weekdays(slot: Slot) -> list[str]:
    """The codes of its weekdays, MO to SU, where its rule is weekly and names some; else none."""
    parts = dict(part.split("=") for part in slot.rule.split(";"))
    if parts["FREQ"] != "WEEKLY" or "BYDAY" not in parts:
        return []
    return [code for code in CODES if code in parts["BYDAY"].split(",")]


def days(slot: Slot) -> str:
    """ "Tuesday, Saturday", with how many weeks lie between; a rule that has no words here as it is written."""
    if monthly := re.fullmatch(r"FREQ=MONTHLY;BYDAY=\+?(-?\d)(\w\w)", slot.rule):
        number, code = int(monthly[1]), monthly[2]
        if number in OF_THE_MONTH:
            return str(OF_THE_MONTH[number]) % {"day": WEEKDAYS[CODES.index(code)]}
    parts = dict(part.split("=") for part in slot.rule.split(";"))
    if not (codes := weekdays(slot)):
        return _("each day") if slot.rule == "FREQ=DAILY" else slot.rule
    named = pgettext("between the things of a list", ", ").join(str(WEEKDAYS[CODES.index(code)]) for code in codes)
    every = int(parts.get("INTERVAL", "1"))
    if every == 1:
        return named
    return ngettext("%(days)s, each %(n)s week", "%(days)s, each %(n)s weeks", every) % {"days": named, "n": every}


def state(one: Occurrence) -> str:
    """Whether one may come: free places, or why not. Never how many come."""
    match one.out:
        case "closure":
            return _("Closed: %(words)s") % {"words": one.words}
        case "winter":
            return _("No set time in winter.")
    if one.is_off:
        return _("Nothing is open.")
    if not one.free:
        return _("No place is free.")
    return ngettext("%(n)s place is free.", "%(n)s places are free.", one.free) % {"n": one.free}
