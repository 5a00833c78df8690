"""What if: other households, drums, curing bins or browns; and when to begin so that it is done in time."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.forecasts.seasons import SURE_PERMILLE, habits
from bins.forecasts.what_if import Levers, ask, has_failed
from bins.models import Drum, Place, WhatIf
from bins.records import Refused
from households.ledger import UidReused
from households.models import Site

from ..doors import Here
from ..forecast_words import between, day, tenths
from .amounts import rounded, volume, weight

SECONDS_BETWEEN_LOOKS = 5
LEVERS = ("households", "drums", "curing_bins", "browns_percent")


def page(request: HttpRequest, here: Here) -> HttpResponse:
    """What was asked so far, and the form for another."""
    if request.method != "POST":
        return _page(request, here, request.GET.dict(), {})
    values = request.POST.dict()
    try:
        row = ask(building=here.building, told=Levers.from_raw(values), person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, values, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": kept})
    return HttpResponseRedirect(reverse("what-if-answer", args=[here.building.uid, row.uid]) + "?look=on")


def answer(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """How far it is, looked at again by itself every few seconds while the reader wants that; then the answer."""
    row = WhatIf.objects.within(here.building).filter(uid=uid).select_related("site").first()
    if row is None:
        raise Http404
    has_answer = row.result is not None
    failed = not has_answer and has_failed(here.building, row)
    looks = request.GET.get("look") == "on"  # a page that moves by itself must be stoppable
    return render(
        request,
        "pages/what_if_answer.html",
        {
            "row": row,
            "told": _told(row, here) if has_answer else None,
            "failed": failed,
            "look_again_s": SECONDS_BETWEEN_LOOKS if looks and not has_answer and not failed else None,
        },
    )


def _page(request: HttpRequest, here: Here, values: dict[str, str], errors: dict[str, str]) -> HttpResponse:
    sites = list(Site.objects.within(here.building).order_by("name", "uid"))
    site = next((one for one in sites if str(one.uid) == values.get("site")), sites[0] if sites else None)
    if site is None:
        raise Http404
    known = habits(here.building, site, here.now)
    now: dict[str, Any] = {
        "households": known.households or site.households_expected or 6,
        "drums": Drum.objects.within(here.building).filter(site=site).count(),
        "curing_bins": Place.objects.within(here.building).filter(site=site, kind=Place.Kind.CURING_BIN).count(),
        "browns_percent": round(100 * known.browns_per_scraps),
        "begins_on": here.today.isoformat(),
    }
    rows = WhatIf.objects.within(here.building).filter(site=site).order_by("-asked_at", "-pk")
    return render(
        request,
        "pages/what_if.html",
        {
            "site": site,
            "sites": sites,
            "asked": [(row, _told(row, here) if row.result is not None else None) for row in rows],
            "kilos": weight(round(1000 * known.kg_per_week), here.building),
            "is_own": known.is_own,
            "values": now | {name: text for name, text in values.items() if text},
            "uid": values.get("uid") or uuid4(),
            "errors": errors,
        },
        status=422 if errors else 200,
    )


def _told(row: WhatIf, here: Here) -> dict[str, Any]:
    """The answer in words."""
    result: dict[str, Any] = row.result or {}

    def dates(days: list[int | None]) -> str:
        low, mid, high = (None if at is None else row.begins_on + dt.timedelta(days=at) for at in days)
        return between(low, high, row.begins_on, mid, beyond=_("not within a year"))

    low, _middle, high = result["open_percent"]
    least, _half, most = result["compost_litres"]
    starts = [
        (row.begins_on + dt.timedelta(days=one["days"]), tenths(one["permille"]), one["permille"])
        for one in result["starts"]
    ]
    in_time = [on for on, _tenths, permille in starts if permille >= SURE_PERMILLE]
    return {
        "full_tenths": tenths(result["full_permille"]),
        "is_full": result["full_permille"] >= SURE_PERMILLE / 4,
        "open": _("%(low)s to %(high)s %%") % {"low": rounded(low, 0), "high": rounded(high, 0)},
        "first_full": dates(result["first_full"]),
        "first_ready": dates(result["first_ready"]),
        "compost": (volume(1000 * least, here.building), volume(1000 * most, here.building)),
        "kilos": weight(round(1000 * result["kg_per_week"]), here.building),
        "starts": [(day(on, here.today), share) for on, share, _permille in starts],
        "latest": day(max(in_time), here.today) if in_time else "",
    }
