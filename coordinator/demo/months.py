"""The months of the invented block, closed by the calendar that it was moved to, and one of them corrected since."""

import datetime as dt

from bins.intake.dropoff import undo_drop_off
from bins.models import Contribution
from bins.months import calendar, close
from bins.months.figures import month
from households.ledger import open_ledger
from households.models import Building

from . import people

STANDS = {"reverses__isnull": True, "reversed_by__isnull": True}


def close_over(here: Building, now: dt.datetime) -> None:
    """Close each month that is over as its job would have; the last one Yusra closes, and then it is corrected.

    `now`: an evening, so that whoever loads the block later that day gets the same.
    """
    today = here.local(now).date()
    last = calendar.before(today.replace(day=1))
    first_day = here.local(here.created_at).date().replace(day=1)
    with open_ledger(here):
        while first_day < last:
            closes_at = min(close.closes_at(here, first_day), now)
            close.write(here, month(here, first_day), None, closes_at)
            first_day = calendar.after(first_day)
    close.close_month(building=here, first_day=last, person=people.committee(here), now=now)
    close.promise(here, calendar.after(last))
    _correct(here, last, now)


def _correct(here: Building, first_day: dt.date, now: dt.datetime) -> None:
    """One drop-off was written down twice, and it came out after the month was closed."""
    rows = Contribution.objects.within(here).filter(calendar.span(here, first_day), known="counted", **STANDS)
    row = rows.order_by("-counts_at", "uid").first()
    assert row is not None  # a month without one: the history is shorter than it says
    undo_drop_off(building=here, row=row, person=people.in_charge(here), via="web", now=now)
