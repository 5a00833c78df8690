"""The pails of a site: how big they are, and ten weighed ones each half-year to know what they hold."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.mixing.pails import MOST_SIZES, Size, add_pail, measure_pail
from bins.mixing.weighing import PailState, Weighing, accept_weight, pail_states, weigh_pail
from bins.models import Pail
from bins.records import Reader, Refused
from households.ledger import UidReused
from households.models import LedgerRow, Site

from ..doors import Here
from .amounts import exact_volume, weight
from .mix_tasks import pail_task

NO_ERRORS: dict[str, str] = {}


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return _add(request, here) if request.method == "POST" else _page(request, here)


def _add(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        reader = Reader(values)
        site_uid = reader.uid("site")
        reader.finish()
        site = Site.objects.within(here.building).get(uid=site_uid)
        told = Size.from_raw(values, site.cup_ml)
        add_pail(building=here.building, site=site, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, "add", values, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    return _done(request, here, _("The pail is written down."))


def measure(request: HttpRequest, here: Here, pail: UUID) -> HttpResponse:
    found = _pail(here, pail)
    values = request.POST.dict()
    try:
        told = Size.from_raw(values | {"uid": str(pail)}, found.site.cup_ml)
        measure_pail(building=here.building, pail=found, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, f"measure {pail}", values, refused.errors)
    return _done(request, here, _("The pail is measured. Pails that were logged before stay as they are."))


def weigh(request: HttpRequest, here: Here, pail: UUID) -> HttpResponse:
    values = request.POST.dict() | {"pail": str(_pail(here, pail).uid)}
    try:
        weigh_pail(
            building=here.building,
            told=Weighing.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, f"weigh {pail}", values, refused.errors)
    except UidReused:
        kept = _("This form was already sent with other values. That weight was kept. Send it again for another pail.")
        return _page(request, here, f"weigh {pail}", values | {"uid": str(uuid4())}, {"uid": kept})
    return _done(request, here, _("The weight is written down."))


def accept(request: HttpRequest, here: Here, pail: UUID) -> HttpResponse:
    try:
        reader = Reader(request.POST.dict())
        g_per_l = reader.whole("g_per_l", 1, 2000)
        reader.finish()
        accept_weight(building=here.building, uid=pail, g_per_l=g_per_l or 0, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, f"accept {pail}", {}, refused.errors)
    except Pail.DoesNotExist:
        raise Http404 from None
    return _done(request, here, _("From now on this pail counts by the new weight."))


def _done(request: HttpRequest, here: Here, text: str) -> HttpResponse:
    messages.success(request, text)
    return HttpResponseRedirect(reverse("pails", args=[here.building.uid]))


def _pail(here: Here, uid: UUID) -> Pail:
    pail: Pail | None = Pail.objects.within(here.building).filter(uid=uid).select_related("site").first()
    if pail is None:
        raise Http404
    return pail


def _page(
    request: HttpRequest,
    here: Here,
    form: str = "",
    values: dict[str, Any] | None = None,
    errors: dict[str, str] = NO_ERRORS,
) -> HttpResponse:
    """`form` names the one that was refused: its values and errors are shown there alone."""
    states = pail_states(here.building, here.now)
    counts: dict[int, int] = {}
    for state in states:
        counts[state.pail.site_id] = counts.get(state.pail.site_id, 0) + 1
    return render(
        request,
        "pages/pails.html",
        {
            "pails": [_shown(here, state, form, values or {}, errors) for state in states],
            "due": next((pail_task(state) for state in states if state.wants_somebody), ""),
            "errors": errors,
            "is_weighed": all(state.pail.calibrated_on for state in states),
            "several_sites": len(counts) > 1,
            "room_at": [
                site
                for site in Site.objects.within(here.building).order_by("name", "pk")
                if counts.get(site.pk, 0) < MOST_SIZES
            ],
            "add": {
                "uid": (values or {}).get("uid") if form == "add" else str(uuid4()),
                "values": (values or {}) if form == "add" else {},
                "errors": errors if form == "add" else NO_ERRORS,
            },
            "may_set": here.may("set", "pail"),
        },
        status=422 if errors else 200,
    )


def _shown(here: Here, state: PailState, form: str, values: dict[str, Any], errors: dict[str, str]) -> dict[str, Any]:
    pail, building = state.pail, here.building

    def mine(name: str) -> tuple[dict[str, Any], dict[str, str]]:
        return (values, errors) if form == f"{name} {pail.uid}" else ({}, NO_ERRORS)

    weigh_values, weigh_errors = mine("weigh")
    measure_values, measure_errors = mine("measure")
    return {
        "state": state,
        "pail": pail,
        "holds": exact_volume(pail.millilitres, building),
        "full": weight(round(pail.millilitres * pail.scraps_g_per_l / 1000), building),
        "proposed": weight(round(pail.millilitres * (state.proposed_g_per_l or 0) / 1000), building),
        "range": (weight(state.full.low_grams, building), weight(state.full.high_grams, building))
        if state.full
        else None,
        "uid": weigh_values.get("uid") or str(uuid4()),
        "weigh_values": weigh_values,
        "weigh_errors": weigh_errors,
        "measure_values": measure_values,
        "measure_errors": measure_errors,
        "accept_errors": mine("accept")[1],
    }
