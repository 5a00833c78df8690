"""The caretaker's page of browns: the one number, what is advised and why, and whether there are any left."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.mixing.browns import Advice, BrownsTold, accept_number, advise, tell_browns, tell_stock
from bins.process.browns import SignNumber
from bins.records import Reader, Refused
from households.models import Site

from .. import mix_words
from ..doors import Here
from .amounts import typed_cup

NO_ERRORS: dict[str, str] = {}


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return _page(request, here)


def tell(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """Keep the kind of browns, the cup, and what is said when there are none."""
    values = request.POST.dict()
    try:
        tell_browns(
            building=here.building,
            site_uid=site,
            told=BrownsTold.from_raw(values),
            person=here.actor.person,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, site, values, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    messages.success(request, _("Written down. The number on the sign stays until you change it."))
    return HttpResponseRedirect(reverse("browns", args=[here.building.uid]))


def accept(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """The yes to the number advised."""
    try:
        reader = Reader(request.POST.dict())
        half_cups = reader.whole("half_cups", 0, 24)
        reader.finish()
        changed = accept_number(
            building=here.building,
            site_uid=site,
            half_cups=0 if half_cups is None else half_cups,
            person=here.actor.person,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, site, {}, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    messages.success(
        request,
        _("The number is %(cups)s for each full pail now. Please print the signs again.")
        % {"cups": mix_words.cups(changed.half_cups_per_pail)},
    )
    return HttpResponseRedirect(reverse("browns", args=[here.building.uid]))


def stock(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """None left, or there again."""
    is_out = request.POST.get("out") == "yes"
    try:
        tell_stock(building=here.building, site_uid=site, is_out=is_out, person=here.actor.person, now=here.now)
    except Site.DoesNotExist:
        raise Http404 from None
    messages.info(
        request,
        _("All pages say now that the browns are used up.") if is_out else _("All pages ask for browns again."),
    )
    return HttpResponseRedirect(reverse("browns", args=[here.building.uid]))


def _page(
    request: HttpRequest,
    here: Here,
    site: UUID | None = None,
    values: dict[str, Any] | None = None,
    errors: dict[str, str] = NO_ERRORS,
) -> HttpResponse:
    sites = [_site(here, advice, values if advice.site.uid == site else None) for advice in advise(here.building)]
    for shown in sites:
        shown["errors"] = errors if shown["site"].uid == site else NO_ERRORS
    return render(
        request,
        "pages/browns.html",
        {"sites": sites, "may_set": here.may("set", "browns")},
        status=422 if errors else 200,
    )


def _site(here: Here, advice: Advice, values: dict[str, Any] | None) -> dict[str, Any]:
    site = advice.site
    shown = values or {
        "browns": site.browns,
        "cup_ml": typed_cup(site.cup_ml, here.building),
        "without_browns": site.without_browns,
    }
    return {
        "site": site,
        "advice": advice,
        "says": mix_words.advice(advice, here.building),
        "cups_now": mix_words.cups(site.half_cups_per_pail),
        "cups_advised": "" if advice.half_cups is None else mix_words.cups(advice.half_cups),
        "mix": mix_words.mix_figures(advice.says) if isinstance(advice.says, SignNumber) else None,
        "may_change": here.today >= advice.changes_from,
        "values": shown,
        "kinds": [(value, label, value == shown.get("browns")) for value, label in Site.Browns.choices],
        "without": [
            (value, label, value == shown.get("without_browns")) for value, label in Site.WithoutBrowns.choices
        ],
    }
