"""A household's own share: what it was due, what it gets, where to fetch it; and its wish to give it to the beds."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.harvests.share_words import sentence
from bins.harvests.sharing import fetched, of_household
from bins.models import Share
from bins.models.harvest import TUB
from bins.records import Reader, Refused
from households.giving import choose_garden
from households.models import Household

from ..doors import Here
from .amounts import volume
from .tubs import tubs


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return choose(request, here) if request.method == "POST" else show(request, here)


def own_household(here: Here) -> Household:
    person = here.actor.person
    if person is None or person.household is None:
        raise Http404
    return person.household


def show(request: HttpRequest, here: Here) -> HttpResponse:
    household = own_household(here)
    shares = of_household(here.building, household)
    went = fetched(here.building, shares)
    found = [_said(here, share, went.get(share.pk, 0)) for share in shares]
    return render(
        request,
        "pages/share.html",
        {"household": household, "newest": found[0] if found else None, "older": found[1:]},
    )


def choose(request: HttpRequest, here: Here) -> HttpResponse:
    person = here.actor.person
    assert person is not None  # the rule asks for a resident
    try:
        reader = Reader(request.POST.dict())
        gives = reader.yes("gives")
        reader.finish()
    except Refused:
        raise Http404 from None  # the page has two buttons; nothing else is sent
    choose_garden(building=here.building, household=own_household(here), gives=gives, by=person, now=here.now)
    messages.success(
        request,
        _("Your next shares go to the beds. Thank you.") if gives else _("Your next shares are yours to fetch again."),
    )
    return HttpResponseRedirect(reverse("share", args=[here.building.uid]))


def _said(here: Here, share: Share, given: int) -> dict[str, Any]:
    split = share.split
    return {
        "share": share,
        "split": split,
        "harvest": split.harvest,
        "says": sentence(share),
        "litres": volume(share.tubs * split.harvest.tub_ml, here.building),
        "given": tubs(given) if given else "",
        "is_open": share.tubs > 0 and given < share.tubs * TUB and here.today <= split.pick_up_until,
    }
