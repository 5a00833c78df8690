"""How harvests are shared out here: the rule for lots that open from now on."""

import datetime as dt
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.harvests.terms import Change, set_terms
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building, LedgerRow, Site

from ..doors import Here
from .amounts import typed_volume


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return change(request, here) if request.method == "POST" else _page(request, here, {}, {}, 200)


def change(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        told = Change.from_raw(values)
        set_terms(
            building=here.building,
            told=told.terms,
            decided=told.decided,
            by=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, values, refused.errors, 422)
    except UidReused:
        kept = _("This form was already sent with other values. What was sent first was kept as it is.")
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    except Site.DoesNotExist:
        raise Http404 from None
    messages.success(request, _("Written down. It counts for each lot that opens from now on."))
    return HttpResponseRedirect(reverse("sharing", args=[here.building.uid]))


def _page(
    request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    return render(
        request,
        "pages/sharing.html",
        {
            "sites": [
                _site(site, here.building, here.today, values if is_this else {}, errors if is_this else {})
                for site in Site.objects.within(here.building).order_by("name")
                for is_this in [values.get("site") == str(site.uid)]
            ],
            "errors": errors,
            "may_set": here.may("set", "sharing"),
        },
        status=status,
    )


def _site(
    site: Site, building: Building, today: dt.date, values: dict[str, Any], errors: dict[str, str]
) -> dict[str, Any]:
    stands: dict[str, Any] = {
        "sharing_kind": site.sharing_kind,
        "reserve_percent": site.reserve_percent,
        "ceiling_percent": "" if site.ceiling_percent is None else site.ceiling_percent,
        "least_drop_offs": site.least_drop_offs,
        "tub_litres": typed_volume(site.tub_ml, building),
        "unclaimed_after_days": site.unclaimed_after_days,
        "least_tubs": site.least_tubs or "",
        "most_tubs": "" if site.most_tubs is None else site.most_tubs,
        "minutes_a_visit": site.minutes_a_visit,
        "requests_by_weight": "yes" if site.requests_by_weight else "",
        "uid": str(uuid4()),
        "decided_on": today.isoformat(),
    }
    values = stands | ({"requests_by_weight": ""} if values else {}) | values  # an empty box is not sent
    kinds = [(kind, label, kind == values["sharing_kind"]) for kind, label in Site.Sharing.choices]
    return {
        "site": site,
        "values": values,
        "errors": errors,
        "usual": [one for one in kinds if one[0] in Site.USUAL],
        "others": [one for one in kinds if one[0] not in Site.USUAL],
        "is_other": values["sharing_kind"] not in Site.USUAL or bool(values["least_tubs"] or values["most_tubs"]),
    }
