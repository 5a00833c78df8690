"""How harvests are shared out here: the rule for lots that open from now on."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from bins.harvests.terms import Terms, set_terms
from bins.records import Refused
from households.models import Site

from ..doors import Here


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return change(request, here) if request.method == "POST" else _page(request, here, {}, {}, 200)


def change(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        set_terms(building=here.building, told=Terms.from_raw(values), by=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, values, refused.errors, 422)
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
                _site(site, values if is_this else {}, errors if is_this else {})
                for site in Site.objects.within(here.building).order_by("name")
                for is_this in [values.get("site") == str(site.uid)]
            ],
            "errors": errors,
            "may_set": here.may("set", "sharing"),
        },
        status=status,
    )


def _site(site: Site, values: dict[str, Any], errors: dict[str, str]) -> dict[str, Any]:
    stands: dict[str, Any] = {
        "sharing_kind": site.sharing_kind,
        "reserve_percent": site.reserve_percent,
        "ceiling_percent": "" if site.ceiling_percent is None else site.ceiling_percent,
        "least_drop_offs": site.least_drop_offs,
        "tub_litres": number_format(f"{site.tub_ml / 1000:g}"),
        "unclaimed_after_days": site.unclaimed_after_days,
    }
    values = stands | values
    return {
        "site": site,
        "values": values,
        "errors": errors,
        "kinds": [(kind, label, kind == values["sharing_kind"]) for kind, label in Site.Sharing.choices],
    }
