"""Ranges of days, chances and records as sentences in the reader's language."""

import datetime as dt
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from bins.forecasts.shown import NoForecast, is_late, next_ready
from bins.models import Drum, Forecast
from bins.process.ranges import Record
from households.models import Building

WEEKS_FROM_DAYS = 21  # chosen
LIKELY, POSSIBLE = 500, 200  # permille, chosen: from there "will probably", from there "may"

WHY_NONE: dict[NoForecast, Any] = {
    NoForecast.READY: gettext_lazy("It is finished."),
    NoForecast.NOTHING_ON_RECORD: gettext_lazy(
        "Nobody wrote down what went into it, so there is nothing to reckon from."
    ),
    NoForecast.TWO_LEVELS: gettext_lazy(
        "Nobody can tell yet. It takes two looks at how full it is, on two different days."
    ),
    NoForecast.TONIGHT: gettext_lazy("The first forecast is made tonight. Look here again tomorrow."),
}


def day(date: dt.date, today: dt.date) -> str:
    """ "3 June", with its year where that isn't plain."""
    near = abs((date - today).days) < 300  # chosen: the same month next year is never meant
    return str(date_format(date, "MONTH_DAY_FORMAT" if near else "DATE_FORMAT"))


def between(
    low: dt.date | None, high: dt.date | None, today: dt.date, mid: dt.date | None = None, beyond: str = ""
) -> str:
    """A range of days as the end of a sentence; low None: beyond what is foreseen, or what `beyond` says."""
    if low is None:
        return beyond or _("not within six months")
    low = max(low, today)
    if high is None and mid is not None and mid > low:
        return _("about %(mid)s, perhaps much later; not before %(low)s") % {
            "low": day(low, today),
            "mid": day(mid, today),
        }
    if high is None:
        return _("not before %(day)s, and perhaps much later") % {"day": day(low, today)}
    if high <= low:
        return _("about %(day)s") % {"day": day(low, today)}
    return _("probably between %(low)s and %(high)s") % {"low": day(low, today), "high": day(high, today)}


def ready_line(row: Forecast, today: dt.date) -> str:
    return between(row.ready_low, row.ready_high, today, row.ready_mid)


def next_ready_line(building: Building, drum: Drum, today: dt.date) -> str:
    """When the next compost of a drum is to be expected; empty where nobody can tell. One query."""
    row = next((row for row in next_ready(building) if row.batch.drum_id == drum.pk), None)
    return ready_line(row, today) if row is not None and not is_late(row, today) else ""


def remedied_line(row: Forecast, today: dt.date) -> str:
    """When a lot in trouble would be ready if what is advised is done; empty where that was not reckoned."""
    if row.remedied is None or is_late(row, today):
        return ""
    low, mid, high = (None if at is None else row.made_on + dt.timedelta(days=at) for at in row.remedied)
    return between(low, high, today, mid)


def full_line(row: Forecast, today: dt.date) -> str:
    return between(row.full_low, row.full_high, today, row.full_mid)


def clash_line(clash: dict[str, Any] | None) -> str:
    """Whether a drum runs out of room, as the caption of its time line."""
    if clash is None:
        return _("Nobody can tell yet if there will be room.")
    if clash["permille"] < POSSIBLE:
        return _("There will probably be room all along.")
    chance = chance_line(clash["permille"])
    short = clash["short"]
    if short is None:
        return chance
    if clash["empty"][1] is None:
        return f"{chance} {_('Nothing says when that will be.')}"
    return f"{chance} {gap_line(short[1])}"


def gap_line(days: int) -> str:
    """For how long nothing is open: in weeks where nobody counts days any more."""
    if days < WEEKS_FROM_DAYS:
        return ngettext(
            "Then nothing is open for about %(days)s day.", "Then nothing is open for about %(days)s days.", days
        ) % {"days": days}
    weeks = round(days / 7)
    return ngettext(
        "Then nothing is open for about %(weeks)s week.", "Then nothing is open for about %(weeks)s weeks.", weeks
    ) % {"weeks": weeks}


def chance_line(permille: int) -> str:
    """ "6 times out of 10": people read a share of ten better than a per cent."""
    share = {"share": tenths(permille)}
    return _("%(share)s, the open hatch is full before another one is empty.") % share


def tenths(permille: int) -> str:
    """A share as people count: 640 -> "6 times out of 10"."""
    n = min(10, max(0, round(permille / 100)))
    return ngettext("%(n)s time out of 10", "%(n)s times out of 10", n) % {"n": n}


def record_line(what: str, ahead_days: int, found: Record) -> str:
    """How often past ranges held."""
    shown = {"held": found.held, "tried": found.tried, "days": ahead_days}
    if what == "full":
        return _("%(days)s days before a hatch was full, the range was right in %(held)s of %(tried)s cases.") % shown
    return _("%(days)s days before a lot was ready, the range was right in %(held)s of %(tried)s cases.") % shown


def score_line(found: Record) -> str:
    """Ranges against those that no measurement had a part in; less is better."""
    shown = {"ours": round(found.score_days), "rival": round(found.rival_score_days)}
    if shown["ours"] < shown["rival"]:
        return _("So far measuring helped: %(ours)s points with it, %(rival)s without.") % shown
    return _("So far measuring did not help: %(ours)s points with it, %(rival)s without.") % shown
