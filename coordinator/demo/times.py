"""The block's set times: three a week, holidays that return each year, and who comes in the next days."""

import datetime as dt
from collections.abc import Mapping
from contextlib import suppress

from bins.records import Refused
from bins.slots.ahead import occurrences
from bins.slots.booking import WantsSlot, book
from bins.slots.closures import ClosedDays, close_days
from bins.slots.proxy import ForSomebody, book_for
from bins.slots.slots import NewSlot, add_slot
from households.models import Building, Household, Person, Site

from . import people
from .block import uid

SLOTS = (
    {"weekdays": ["TU", "FR"], "begins_at": "18:00", "minutes": 60, "households": 3},
    {"weekdays": ["SA"], "begins_at": "10:00", "minutes": 60, "households": 4, "name": "Saturday opening"},
)
DAYS, TIMES = 9, 3  # ahead that somebody is down for
EVERY = 5  # of so many households one comes to a time
IMANI, PETRA = 0, 5  # numbers of flats; Petra has no phone


def set_up(here: Building, site: Site, wanda: Person, first: dt.date, now: dt.datetime) -> None:
    for number, raw in enumerate(SLOTS):
        told = NewSlot.from_raw({"uid": uid(f"slot {number}"), "starts_on": first, **raw})
        add_slot(building=here, site=site, told=told, person=wanda, now=now)
    holidays = {"first_day": f"{first.year}-12-24", "last_day": f"{first.year}-12-26", "words": "Holidays"}
    closed = ClosedDays.from_raw({"uid": uid("holidays"), "each_year": "yes", **holidays})
    close_days(building=here, site=site, told=closed, person=wanda, now=now)


def book_some(here: Building, homes: Mapping[int, Household], today: dt.date, now: dt.datetime) -> None:
    """Some at each of the next times; Imani at the second one, with two pails; Wanda books for Petra."""
    last = today + dt.timedelta(days=DAYS)
    ahead = [one for one in occurrences(here, today, last, now) if one.free][:TIMES]
    for number, one in enumerate(ahead):
        for flat, home in homes.items():
            if (flat + number) % EVERY == 1 and flat != PETRA:
                quarters = 8 if flat == IMANI else 4
                wants = WantsSlot(uid(f"comes {flat} {one.day}"), one.slot.uid, one.day, quarters)
                with suppress(Refused):  # the last place at their drum is gone
                    book(building=here, told=wants, household=home, now=now)
    for one in ahead[2:3]:
        wants = WantsSlot(uid(f"comes {PETRA} {one.day}"), one.slot.uid, one.day, 4)
        told = ForSomebody(homes[PETRA].uid, wants)
        book_for(building=here, told=told, person=people.in_charge(here), now=now)
