"""A household tells that it brought browns; what it brought so far, and what it may still take back."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.mixing.bringing import Brought, bring_browns, may_take_back, of_household, take_browns_back
from bins.models import Assignment, BrownsStock
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow, Site

from ..doors import Here
from .amounts import exact_volume
from .share import own_household

SHOWN = 20  # the newest


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add(request, here) if request.method == "POST" else _page(request, here, {}, {}, 200)


def add(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        bring_browns(
            building=here.building,
            told=Brought.from_raw(values),
            household=own_household(here),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, values, refused.errors, 422)
    except Site.DoesNotExist:
        raise Http404 from None
    except UidReused:
        kept = _("This form was already sent with other values. What was sent first was kept as it is.")
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    messages.success(request, _("Written down. Thank you: your household takes part in the lot that is filling now."))
    return _back(here)


def take_back(request: HttpRequest, here: Here, stored: UUID) -> HttpResponse:
    try:
        take_browns_back(
            building=here.building,
            uid=stored,
            household=own_household(here),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except BrownsStock.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        messages.error(request, refused.errors["uid"])
    else:
        messages.info(request, _("Taken back. Both rows stay in the record."))
    return _back(here)


def _back(here: Here) -> HttpResponse:
    return HttpResponseRedirect(reverse("browns-brought", args=[here.building.uid]))


def _page(
    request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    household = own_household(here)
    sites = list(Site.objects.within(here.building).order_by("name"))
    own = Assignment.objects.within(here.building).filter(household=household).select_related("drum__site").first()
    first = own.drum.site if own else sites[0] if sites else None
    if first is None:
        raise Http404
    chosen = values.get("site") or str(first.uid)
    kind = values.get("kind") or first.browns
    rows = list(of_household(here.building, household)[:SHOWN])
    return render(
        request,
        "pages/browns_brought.html",
        {
            "site": first,
            "sites": [(site, str(site.uid) == chosen) for site in sites],
            "kinds": [(value, label, value == kind) for value, label in Site.Browns.choices],
            "values": {"uid": str(uuid4()), "day": here.today.isoformat()} | values,
            "errors": errors,
            "rows": [
                {
                    "uid": row.uid,
                    "day": here.building.local(row.counts_at).date(),
                    "kind": Site.Browns(row.kind).label,
                    "litres": exact_volume(row.millilitres, here.building),
                    "may_take_back": may_take_back(row, here.now),
                }
                for row in rows
            ],
        },
        status=status,
    )
