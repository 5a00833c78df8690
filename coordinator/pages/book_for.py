"""A time booked for somebody without a phone: who, when, how much; and what was booked so, to be told to them."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.models import Assignment
from bins.records import Refused
from bins.slots.ahead import occurrences
from bins.slots.booking import cancel
from bins.slots.proxy import ForSomebody, book_for, booked_for_others, household_told, to_be_told
from households.ledger import UidReused
from households.models import Booking, Household

from ..doors import Here
from ..reminder_words import day_of, span
from ..slot_words import hours, state
from ..words import pails
from .mine import WEEKS
from .people import door_order
from .week import PAIL_CHOICES


def page(request: HttpRequest, here: Here) -> HttpResponse:
    if request.method != "POST":
        return _page(request, here, {}, {})
    values = request.POST.dict()
    try:
        told = ForSomebody.from_raw(household_told(here.building, values))
        booked = book_for(building=here.building, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, values, refused.errors)
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": kept})
    said = {"name": booked.row.household.label, "day": day_of(booked.row.occurs_on)}
    messages.success(request, _("A place is kept for %(name)s: %(day)s.") % said)
    return HttpResponseRedirect(reverse("book-for", args=[here.building.uid]))


def give_up(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    try:
        cancel(building=here.building, row=proxy_booking(here, uid), now=here.now)
    except Refused as refused:
        messages.error(request, refused.errors["uid"])
    else:
        messages.success(request, _("Taken back. The place is free for others."))
    return HttpResponseRedirect(reverse("book-for", args=[here.building.uid]))


def proxy_booking(here: Here, uid: UUID) -> Booking:
    """A booking that was made on somebody's behalf; 404 for any other, which is its household's own."""
    rows = Booking.objects.within(here.building).filter(uid=uid, by_proxy=True)
    row: Booking | None = rows.select_related("slot", "household").first()
    if row is None:
        raise Http404
    return row


def _page(request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str]) -> HttpResponse:
    ahead = [one for one in occurrences(here.building, here.today, here.today + WEEKS, here.now) if one.free]
    households = Household.objects.within(here.building).living_on(here.today)
    sites = {one.slot.site_id for one in ahead}
    homes = [*sorted(households.filter(pk__in=_of_sites(here, sites)), key=door_order)]
    rows = booked_for_others(here.building, here.now)
    return render(
        request,
        "pages/book_for.html",
        {
            "times": [
                {
                    "value": f"{one.slot.uid}/{one.day.isoformat()}",
                    "day": day_of(one.day),
                    "hours": hours(one.slot),
                    "place": one.slot.site.name if len(sites) > 1 else "",
                    "state": state(one),
                }
                for one in ahead
            ],
            "households": homes,
            "pails": [(str(quarters), pails(quarters)) for quarters in PAIL_CHOICES],
            "booked": [
                (row, span(here.building, row.begins_at, row.ends_at), pails(row.quarter_pails)) for row in rows
            ],
            "to_tell": len(to_be_told(rows)),
            "values": {"uid": str(uuid4()), "quarter_pails": "4"} | values,
            "errors": errors,
        },
        status=422 if errors else 200,
    )


def _of_sites(here: Here, sites: set[int]) -> Any:
    """The keys of households with a drum at one of these sites."""
    return Assignment.objects.within(here.building).filter(drum__site__in=sites).values("household")
