"""The planner: the weeks to plan, plans that are up, and what was worked out so far; a month on paper."""

import calendar
import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.db.models import Max
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.duties.drafting import DaysToPlan, ask, plans_ahead
from bins.duties.kinds import kinds_of
from bins.duties.mine import duties_by_first_name
from bins.duties.phase import Phase
from bins.duties.planning import next_period
from bins.records import Refused
from households.ledger import UidReused
from households.models import RotaDraft, RotaPlan, Site

from ..doors import Here
from ..duty_words import work
from .duty_kinds import site_of


def page(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """What is planned so far, and the weeks to plan next; a plan that is asked for is worked out by a job."""
    found = site_of(here, site)
    if request.method != "POST":
        return _page(request, here, found, {}, {})
    values = request.POST.dict()
    try:
        told = DaysToPlan.from_raw(values, here.today)
        draft = ask(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, found, values, refused.errors)
    except UidReused:
        return _page(request, here, found, values, {"uid": _("This was already sent with other values.")})
    messages.success(request, _("It is being worked out."))
    return HttpResponseRedirect(reverse("rota-look", args=[here.building.uid, draft.uid]) + "?look=on")


def month(request: HttpRequest, here: Here, site: UUID, year: int, number: int) -> HttpResponse:
    """A month on paper, by first name."""
    found = site_of(here, site)
    if not (2000 <= year <= 2100 and 1 <= number <= 12):
        raise Http404
    first = dt.date(year, number, 1)
    weeks = calendar.Calendar().monthdatescalendar(first.year, first.month)
    duties = duties_by_first_name(here.building, weeks[0][0], weeks[-1][-1], here.now)
    by_day: dict[dt.date, list[dict[str, Any]]] = {}
    for one in duties:
        if one.duty.kind.site_id == found.pk and one.duty.day.month == first.month and one.phase is not Phase.OVER:
            shown = {"what": work(one.duty.kind), "begins_at": one.duty.begins_at, "names": ", ".join(one.names)}
            by_day.setdefault(one.duty.day, []).append(shown)
    return render(
        request,
        "pages/rota_month.html",
        {
            "site": found,
            "first": first,
            "weekdays": weeks[0],
            "weeks": [[(day, day.month == first.month, by_day.get(day, [])) for day in week] for week in weeks],
            "has_duties": bool(by_day),
        },
    )


def month_address(here: Here, site: Site, day: dt.date) -> str:
    return reverse("rota-month", args=[here.building.uid, site.uid, day.year, day.month])


def _page(request: HttpRequest, here: Here, site: Site, values: dict[str, Any], errors: dict[str, str]) -> HttpResponse:
    first, last = next_period(here.building, site, here.now)
    plans = plans_ahead(here.building, site, here.today)
    # A draft rests on the plans that were up when it was asked for: what is older than the newest went up, or can't.
    newest = RotaPlan.objects.within(here.building).filter(site=site).aggregate(at=Max("published_at"))["at"]
    drafts = RotaDraft.objects.within(here.building).filter(site=site, last_on__gte=here.today)
    drafts = drafts.filter(asked_at__gt=newest) if newest is not None else drafts
    return render(
        request,
        "pages/rota.html",
        {
            "site": site,
            "until": max((plan.last_on for plan in plans), default=None),
            "plans": [(plan, month_address(here, site, max(plan.first_on, here.today)), uuid4()) for plan in plans],
            "drafts": drafts.order_by("-asked_at", "-pk"),
            "has_kinds": any(kind.is_on for kind in kinds_of(here.building, site)),
            "values": {"uid": uuid4(), "first": first.isoformat(), "last": last.isoformat()}
            | {name: text for name, text in values.items() if text and name in ("first", "last")},
            "errors": errors,
        },
        status=422 if errors else 200,
    )
