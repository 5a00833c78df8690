"""Limits that a site has from its authority, and the log of a period for whoever comes to look."""

import datetime as dt
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.models import SiteLimit
from bins.permits.limits import LimitState, LimitTold, limit_states, set_limit
from bins.permits.period_log import Kind, PeriodLog, period_log
from bins.records import Reader, Refused
from households.ledger import UidReused
from households.models import LedgerRow, Site

from .. import permit_words
from ..doors import Here


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add(request, here) if request.method == "POST" else _page(request, here, {}, {})


def add(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        told = LimitTold.from_raw(values)
        set_limit(building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except Refused as refused:
        return _page(request, here, values, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    except UidReused:
        kept = _("This form was already sent with other values. What was sent first was kept as it is.")
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": kept})
    messages.success(request, _("The limit is written down. Once it is near, it stands on the list of the day."))
    return HttpResponseRedirect(reverse("limits", args=[here.building.uid]))


def log(request: HttpRequest, here: Here) -> HttpResponse:
    """What was recorded from one day to another, to read and to print."""
    found, errors = asked_log(here, request.GET.dict())
    return render(
        request,
        "pages/period_log.html",
        {
            "log": found,
            "lines": [
                (here.building.local(line.at), line, permit_words.KINDS[line.kind], permit_words.recorded(line))
                for line in found.lines
            ],
            "counts": [(permit_words.KINDS[kind], found.count(kind)) for kind in Kind],
            "errors": errors,
            "values": {"first": found.first.isoformat(), "last": found.last.isoformat()},
        },
        status=422 if errors else 200,
    )


def asked_log(here: Here, raw: dict[str, str]) -> tuple[PeriodLog, dict[str, str]]:
    """The log of the days asked for, else of the last 30; with what is wrong with the days."""
    reader = Reader(raw)
    last = reader.day("last") or here.today
    first = reader.day("first") or last - dt.timedelta(days=29)
    if not reader.errors and not dt.timedelta() <= last - first <= dt.timedelta(days=365):
        reader.errors["first"] = _("At most a year, and the first day before the last.")
    if reader.errors:
        first, last = here.today - dt.timedelta(days=29), here.today
    return period_log(here.building, first, last), reader.errors


def near_limits(here: Here) -> list[str]:
    """The limits of which 80 % or more is used, in sentences."""
    return [permit_words.near(one, here.building) for one in limit_states(here.building, here.now) if one.is_near]


def _page(request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str]) -> HttpResponse:
    states = limit_states(here.building, here.now)
    sites = list(Site.objects.within(here.building).order_by("name", "pk"))
    return render(
        request,
        "pages/limits.html",
        {
            "limits": [_shown(here, state) for state in states],
            "near": [permit_words.near(state, here.building) for state in states if state.is_near],
            "sites": [(site, str(site.uid) == values.get("site")) for site in sites],
            "whats": [(*one, one[0] == values.get("what", "scraps_year")) for one in SiteLimit.What.choices],
            "values": {"uid": str(uuid4())} | values,
            "errors": errors,
            "may_set": here.may("set", "site-limit"),
            "may_see_log": here.may("see", "period-log"),
        },
        status=422 if errors else 200,
    )


def _shown(here: Here, state: LimitState) -> dict[str, Any]:
    return {
        "state": state,
        "row": state.row,
        "what": SiteLimit.What(state.row.what).label,
        "limit": permit_words.figure(state.row.what, state.figure, here.building),
        "used": permit_words.figure(state.row.what, state.used, here.building),
    }
