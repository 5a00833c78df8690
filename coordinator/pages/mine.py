"""My slots and duties: what a household is down for, and the ways to change it."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from bins.duties.mine import duties_of
from bins.records import Refused
from bins.slots.ahead import BOOK_AHEAD_DAYS
from bins.slots.booking import cancel, of_household
from households.models import Booking, DutyKind, Site

from ..doors import Here
from ..reminder_words import day_of, span
from ..words import pails

WEEKS = dt.timedelta(days=BOOK_AHEAD_DAYS)


def page(request: HttpRequest, here: Here) -> HttpResponse:
    sites = Site.objects.within(here.building).filter(opening=Site.Opening.SLOTS)
    return render(request, "pages/mine.html", ahead(here) | {"has_slots": sites.exists()})


def ahead(here: Here) -> dict[str, Any]:
    """What the person's household is down for in the next weeks: set times, duties, and the next set time."""
    person = here.actor.person
    household = person.household if person else None
    bookings = of_household(here.building, household, here.now) if household else []
    own = duties_of(here.building, household, here.today, here.today + WEEKS, here.now) if household else []
    duties = [
        {
            "work": capfirst(str(DutyKind.Work(one.duty.kind.work).label)),
            "day": day_of(one.duty.day),
            "at": date_format(here.building.local(one.begins_at), "TIME_FORMAT") if one.begins_at else "",
            "minutes": one.duty.minutes,
            "is_asked": one.is_asked,
            "others": one.others,
        }
        for one in own
        if one.duty.done_at is None
    ]
    shown = [(row, span(here.building, row.begins_at, row.ends_at), pails(row.quarter_pails)) for row in bookings]
    return {"bookings": shown, "duties": duties, "next": shown[0] if shown else None}


def give_up(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    try:
        cancel(building=here.building, row=own_booking(here, uid), now=here.now)
    except Refused as refused:
        messages.error(request, refused.errors["uid"])
    else:
        messages.success(request, _("Taken back. The place is free for others."))
    return HttpResponseRedirect(reverse("mine", args=[here.building.uid]))


def own_booking(here: Here, uid: UUID) -> Booking:
    """A booking of the person's own household; 404 for any other."""
    person = here.actor.person
    row: Booking | None = (
        Booking.objects.within(here.building).filter(uid=uid, household=person.household).first()
        if person and person.household
        else None
    )
    if row is None:
        raise Http404
    return row
