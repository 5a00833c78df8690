"""Seven days of set times: free places for everybody, and a place for who lives here."""

import datetime as dt
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.models import Assignment
from bins.records import Refused
from bins.slots.ahead import BOOK_AHEAD_DAYS, Occurrence, occurrences
from bins.slots.booking import MOST_QUARTER_PAILS, WantsSlot, book
from households.ledger import UidReused
from households.models import Booking, Site
from households.models.booking import STANDS

from ..doors import Here
from ..reminder_words import day_of
from ..slot_words import hours, state
from ..words import pails

WEEK = dt.timedelta(days=7)
PAIL_CHOICES = (4, 8, 12, MOST_QUARTER_PAILS)  # quarters: what fits a time is a whole pail at least


def page(request: HttpRequest, here: Here) -> HttpResponse:
    """Seven days from today, or from the day in the address; never a day that is over."""
    return _week(request, here, _first(request.GET.get("from", ""), here), {}, 200)


def take(request: HttpRequest, here: Here) -> HttpResponse:
    person = here.actor.person
    assert person is not None  # the rule asks for a resident
    values = request.POST.dict()
    try:
        if person.household is None:
            raise Refused({"slot": _("You belong to no household here.")})
        booked = book(building=here.building, told=WantsSlot.from_raw(values), household=person.household, now=here.now)
    except Refused as refused:
        return _week(request, here, _first(str(values.get("from", "")), here), refused.errors, 422)
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _week(request, here, _first(str(values.get("from", "")), here), {"uid": kept}, 422)
    messages.success(request, _("Your place is kept: %(day)s.") % {"day": day_of(booked.row.occurs_on)})
    return HttpResponseRedirect(reverse("mine", args=[here.building.uid]))


def _first(text: str, here: Here) -> dt.date:
    try:
        first = dt.date.fromisoformat(text)
    except ValueError:
        return here.today
    return min(max(first, here.today), here.today + dt.timedelta(days=BOOK_AHEAD_DAYS))


def _week(
    request: HttpRequest, here: Here, first: dt.date, errors: dict[str, str], status: int
) -> HttpResponse:  # fmt: skip
    person = here.actor.person
    household = person.household if person and here.may("add", "booking") else None
    found = occurrences(here.building, first, first + WEEK - dt.timedelta(days=1), here.now)
    own: dict[tuple[int, dt.date], Booking] = {}
    lane = None
    if household is not None:
        bookings = Booking.objects.within(here.building).filter(STANDS, household=household, ends_at__gt=here.now)
        own = {(row.slot_id, row.occurs_on): row for row in bookings}
        lane = Assignment.objects.within(here.building).filter(household=household).select_related("drum").first()

    quarters = int(asked) if (asked := request.POST.get("quarter_pails", "")).isdecimal() else PAIL_CHOICES[0]

    def shown(one: Occurrence) -> dict[str, Any]:
        mine = own.get((one.slot.pk, one.day))
        its = one.lane(lane.drum.number) if lane and lane.drum.site_id == one.slot.site_id else None
        return {
            "one": one,
            "hours": hours(one.slot),
            "state": state(one),
            "mine": mine,
            "may_book": bool(household and not mine and not one.out and its and its.free),
            "pails": [(n, pails(n), n == quarters) for n in PAIL_CHOICES if its and n <= its.free_quarters],
            "uid": uuid4(),
        }

    days: dict[dt.date, list[dict[str, Any]]] = {}
    for one in found:
        days.setdefault(one.day, []).append(shown(one))
    last = here.today + dt.timedelta(days=BOOK_AHEAD_DAYS)
    sites = list(Site.objects.within(here.building).order_by("name"))
    return render(
        request,
        "pages/week.html",
        {
            "days": [(day_of(day), ones) for day, ones in days.items()],
            "first": first,
            "is_today": first == here.today,
            "before": max(first - WEEK, here.today) if first > here.today else None,
            "after": first + WEEK if first + WEEK <= last else None,
            "free": sum(one.free for one in found),
            "has_slots": any(site.opening == Site.Opening.SLOTS for site in sites),
            "many_sites": len(sites) > 1,
            "to_set": [site for site in sites if here.may("set", "slot")],
            "may_book": household is not None,
            "may_book_for": here.may("add", "booking-on-behalf"),
            "errors": errors,
        },
        status=status,
    )
