"""A household's duties: done, cover asked for, cover given, and what it can't do. Nobody else's name before a yes."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.duties.cover import CoverAnswer, CoverAsked, answer, ask, open_covers, own_covers
from bins.duties.doing import finish, take
from bins.duties.limits import LimitsTold, limits_of, set_limits
from bins.duties.mine import OwnDuty, duties_of, free_duties, shares_of_work
from bins.duties.phase import Phase, first_day_not_over
from bins.models import Assignment
from bins.records import Refused
from households.ledger import UidReused
from households.models import Cover, Duty, Household, Site

from ..doors import Here
from ..duty_words import work

AHEAD = dt.timedelta(days=60)


def household_of(here: Here) -> Household:
    household = here.actor.person.household if here.actor.person else None
    if household is None:
        raise Http404
    return household


def site_of_household(here: Here, household: Household) -> Site | None:
    """Where the household's drum stands. One query."""
    own = Assignment.objects.within(here.building).filter(household=household).select_related("drum__site").first()
    return own.drum.site if own else None


def page(request: HttpRequest, here: Here) -> HttpResponse:
    """One's own page; a POST asks for cover."""
    if request.method != "POST":
        return _page(request, here, {}, 200)
    try:
        told = CoverAsked.from_raw(request.POST.dict())
        ask(building=here.building, household=household_of(here), told=told, now=here.now)
    except Refused as refused:
        return _page(request, here, refused.errors, 422)
    except UidReused:
        return _page(request, here, {"uid": _("This was already sent with other values.")}, 422)
    messages.success(request, _("Asked. The duty is yours until somebody takes it; you get a mail then."))
    return _back(here)


def done(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """Done: by one's own word, or the caretaker's for anybody."""
    is_caretaker = here.may("see", "today")
    own = here.actor.person.household if here.actor.person else None
    household = None if is_caretaker else own or household_of(here)
    try:
        finish(building=here.building, duty_uid=uid, household=household, now=here.now)
    except Duty.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        messages.error(request, " ".join(refused.errors.values()))
    else:
        messages.success(request, _("Thank you. It is written down."))
    to = request.POST.get("from") == "today" and is_caretaker
    return HttpResponseRedirect(reverse("today", args=[here.building.uid])) if to else _back(here, is_caretaker)


def taken(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """We come too, or: we did it."""
    try:
        take(building=here.building, duty_uid=uid, household=household_of(here), now=here.now)
    except Duty.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        return _page(request, here, refused.errors, 422)
    messages.success(request, _("Thank you. It is yours."))
    return _back(here)


def covered(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """An answer to a request for cover."""
    household = household_of(here)
    if not Cover.objects.within(here.building).filter(uid=uid).exists():
        raise Http404
    try:
        told = CoverAnswer.from_raw(request.POST.dict())
        answer(building=here.building, cover_uid=uid, household=household, told=told, now=here.now)
    except Cover.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        return _page(request, here, refused.errors, 422)
    said = {
        "take": _("Thank you. The duty is yours now."),
        "offer": _("Offered. Whoever asked says yes or no; you get a mail."),
        "accept": _("Swapped. The plan says so already."),
        "withdraw": _("Taken back. The duty stays yours."),
    }
    messages.success(request, said[told.answer])
    return _back(here)


def limits(request: HttpRequest, here: Here) -> HttpResponse:
    try:
        told = LimitsTold.from_raw(request.POST.dict())
    except Refused as refused:
        return _page(request, here, refused.errors, 422)
    set_limits(building=here.building, household=household_of(here), told=told)
    messages.success(request, _("Kept. It counts from the next plan on."))
    return _back(here)


def _back(here: Here, to_today: bool = False) -> HttpResponse:
    name = "today" if to_today and not here.may("see", "duty") else "duties"
    return HttpResponseRedirect(reverse(name, args=[here.building.uid]))


def _page(request: HttpRequest, here: Here, errors: dict[str, str], status: int) -> HttpResponse:
    household = household_of(here)
    site = site_of_household(here, household)
    mine = duties_of(here.building, household, first_day_not_over(here.today), here.today + AHEAD, here.now)
    shown = [_shown(one, here) for one in mine if one.phase is not Phase.OVER]
    ahead = [one for one in shown if one["own"].phase is Phase.PLANNED]
    covers = open_covers(here.building, site, household, here.now) if site else []
    asked = own_covers(here.building, household, here.now)
    return render(
        request,
        "pages/duties.html",
        {
            "mine": shown,
            "next": ahead[0] if ahead else None,
            "covers": [(cover, work(cover.duty.kind)) for cover in covers],
            "to_offer": [(one["own"].duty.uid, one["what"], one["own"].duty.day) for one in ahead],
            "asked": [
                (cover, work(cover.duty.kind), [(offer, work(offer.duty.kind)) for offer in cover.offers.all()])
                for cover in asked
            ],
            "free": [
                (duty, work(duty.kind), duty.day < here.today)
                for duty in (free_duties(here.building, site, household, here.now) if site else [])
            ],
            "shares": shares_of_work(here.building, site, here.today) if site else [],
            "limits": limits_of(here.building, household),
            "errors": errors,
        },
        status=status,
    )


def _shown(own: OwnDuty, here: Here) -> dict[str, Any]:
    return {
        "own": own,
        "what": work(own.duty.kind),
        "uid": uuid4(),
        "is_today": own.duty.day == here.today,
        "can_say_done": own.phase in (Phase.OPEN, Phase.LISTED) or own.duty.day == here.today,
        "can_ask": own.phase is Phase.PLANNED and not own.is_asked,
    }
