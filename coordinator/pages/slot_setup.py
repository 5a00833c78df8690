"""The caretaker sets times, their room, and closed days."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.dates import WEEKDAYS_ABBR
from django.utils.translation import gettext as _

from bins.records import Refused
from bins.slots.ahead import open_slots
from bins.slots.closures import ClosedDays, close_days, closures_ahead, open_days
from bins.slots.slots import WEEKDAYS as CODES
from bins.slots.slots import Hours, NewSlot, add_slot, change_hours, end_slot
from households.ledger import UidReused
from households.models import Closure, Site, Slot

from ..doors import Here
from ..slot_words import days, hours

NO_ERRORS: dict[str, str] = {}


def page(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    found = site_of(here, site)
    if request.method != "POST":
        return _page(request, here, found, {}, NO_ERRORS, {}, NO_ERRORS)
    values = request.POST.dict()
    raw = values | {"weekdays": request.POST.getlist("weekdays")}
    try:
        add_slot(building=here.building, site=found, told=NewSlot.from_raw(raw), person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, found, raw, refused.errors, {}, NO_ERRORS)
    except UidReused:
        return _page(request, here, found, raw | {"uid": str(uuid4())}, {"uid": _kept()}, {}, NO_ERRORS)
    messages.success(request, _("The time is set."))
    return HttpResponseRedirect(reverse("slot-setup", args=[here.building.uid, site]))


def close(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    found, values = site_of(here, site), request.POST.dict()
    try:
        told = ClosedDays.from_raw(values)
        close_days(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, found, {}, NO_ERRORS, values, refused.errors)
    except UidReused:
        return _page(request, here, found, {}, NO_ERRORS, values | {"uid": str(uuid4())}, {"uid": _kept()})
    messages.success(request, _("Those days are closed. Who was down for them is told by day."))
    return HttpResponseRedirect(reverse("slot-setup", args=[here.building.uid, site]))


def one(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """One slot: its hour, its length, its room."""
    slot = slot_of(here, uid)
    values: dict[str, Any] = {
        "name": slot.name,
        "begins_at": f"{slot.begins_at:%H:%M}",
        "minutes": slot.minutes,
        "households": slot.households or "",
        "pails": (slot.quarter_pails or 0) // 4 or "",
        "rests_in_winter": "yes" if slot.rests_in_winter else "",
    }
    errors = NO_ERRORS
    if request.method == "POST":
        values = request.POST.dict()
        try:
            told = Hours.from_raw(values)
            change_hours(building=here.building, slot=slot, told=told, person=here.actor.person, now=here.now)
        except Refused as refused:
            errors = refused.errors
        else:
            messages.success(request, _("Changed. Who is down for it is told by day, if the hour is another one."))
            return HttpResponseRedirect(reverse("slot-setup", args=[here.building.uid, slot.site.uid]))
    return render(
        request,
        "pages/slot.html",
        {"slot": slot, "days": days(slot), "hours": hours(slot), "values": values, "errors": errors},
        status=422 if errors else 200,
    )


def end(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    slot = slot_of(here, uid)
    end_slot(building=here.building, slot=slot, person=here.actor.person, now=here.now)
    messages.success(request, _("It ends today. Who was down for it later is told by day."))
    return HttpResponseRedirect(reverse("slot-setup", args=[here.building.uid, slot.site.uid]))


def reopen(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    closure = closure_of(here, uid)
    open_days(building=here.building, closure=closure, person=here.actor.person, now=here.now)
    messages.success(request, _("Those days are open again. Who wants to come books anew."))
    return HttpResponseRedirect(reverse("slot-setup", args=[here.building.uid, closure.site.uid]))


def site_of(here: Here, uid: UUID) -> Site:
    site: Site | None = Site.objects.within(here.building).filter(uid=uid).select_related("rules").first()
    if site is None:
        raise Http404
    return site


def slot_of(here: Here, uid: UUID) -> Slot:
    slot: Slot | None = Slot.objects.within(here.building).filter(uid=uid).select_related("site__rules").first()
    if slot is None:
        raise Http404
    return slot


def closure_of(here: Here, uid: UUID) -> Closure:
    closure: Closure | None = Closure.objects.within(here.building).filter(uid=uid).select_related("site").first()
    if closure is None:
        raise Http404
    return closure


def _kept() -> str:
    return _("This was already sent with other values. The first one was kept as it is.")


def _page(
    request: HttpRequest, here: Here, site: Site, values: dict[str, Any], errors: dict[str, str],
    closing: dict[str, Any], closing_errors: dict[str, str],
) -> HttpResponse:  # fmt: skip
    chosen = values.get("weekdays") or []
    return render(
        request,
        "pages/slot_setup.html",
        {
            "site": site,
            "slots": [(slot, days(slot), hours(slot)) for slot in open_slots(here.building, here.today, site)],
            "closures": closures_ahead(here.building, here.today).filter(site=site),
            "weekdays": [(code, WEEKDAYS_ABBR[number], code in chosen) for number, code in enumerate(CODES)],
            "values": {"uid": str(uuid4()), "minutes": 60, "every": 1, "starts_on": here.today.isoformat()} | values,
            "errors": errors,
            "closing": {"uid": str(uuid4())} | closing,
            "closing_errors": closing_errors,
        },
        status=422 if errors or closing_errors else 200,
    )
