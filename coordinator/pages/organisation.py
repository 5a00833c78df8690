"""Hundreds of buildings on one page: which are alive, which need a visit; and one of them in totals."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from bins.months.calendar import before
from bins.months.figures import month
from households.models import Account, Building, Organisation, Role
from households.organisations import held_on
from households.tenancy import as_account

from ..doors import Here
from ..organisation_words import days_said, needs_said
from .amounts import volume, weight

PAGE = 50


@require_safe
@login_required
def overview(request: HttpRequest, organisation: UUID) -> HttpResponse:
    """The buildings, those that need a visit first; 404 for whoever doesn't act for the organisation."""
    account, now = request.user, timezone.now()
    assert isinstance(account, Account)
    with as_account(account):
        role = held_on(account, now.date()).filter(organisation__uid=organisation).first()
        if role is None:
            raise Http404
        return _overview(request, role.organisation)


def _overview(request: HttpRequest, organisation: Organisation) -> HttpResponse:
    buildings = Building.objects.filter(organisation=organisation)
    counts = buildings.aggregate(
        all=Count("pk"),
        alive=Count("pk", filter=Q(is_alive=True)),
        need=Count("pk", filter=Q(need__gt=0)),
        unseen=Count("pk", filter=Q(pulse_at__isnull=True)),
    )
    only_need = request.GET.get("show") == "need"
    rows = buildings.filter(need__gt=0) if only_need else buildings
    last = _last(buildings, request.GET.get("after", ""))
    if last is not None:
        rows = rows.filter(
            Q(need__lt=last.need)
            | Q(need=last.need, name__gt=last.name)
            | Q(need=last.need, name=last.name, pk__gt=last.pk)
        )
    found = list(rows.order_by("-need", "name", "pk")[: PAGE + 1])
    page = found[:PAGE]
    return render(
        request,
        "pages/organisation.html",
        {
            "organisation": organisation,
            "counts": counts,
            "rows": [_row(building) for building in page],
            "only_need": only_need,
            "is_first": last is None,
            "after": page[-1].uid if len(found) > PAGE else None,
        },
    )


def _last(buildings: Any, text: str) -> Building | None:
    """The building that the page before ended with; 404 for what is none of these."""
    if not text:
        return None
    try:
        found: Building | None = buildings.filter(uid=UUID(text)).first()
    except ValueError:
        found = None
    if found is None:
        raise Http404
    return found


def _row(building: Building) -> dict[str, Any]:
    pulse = building.pulse
    return {
        "building": building,
        "needs": needs_said(pulse),
        "scraps": weight(pulse["scraps_g"], building) if pulse else "",
        "drop_off": days_said(pulse["days_since_drop_off"]) if pulse else "",
        "visit": days_said(pulse["days_since_visit"]) if pulse else "",
        "night": building.local(building.pulse_at).date() if building.pulse_at else None,
    }


def one(request: HttpRequest, here: Here) -> HttpResponse:
    """One building for its organisation: what asks for a visit, the totals of two months, who is in charge."""
    building = here.building
    this = here.today.replace(day=1)
    in_charge = (
        Role.objects.within(building).held_on(here.today).filter(kind__in=[Role.Kind.CARETAKER, Role.Kind.COMMITTEE])
    )
    return render(
        request,
        "pages/organisation_building.html",
        {
            "row": _row(building),
            "months": [
                {
                    "first_day": first_day,
                    "figures": figures,
                    "scraps": weight(figures.scraps_g, building),
                    "compost": volume(figures.compost_ml, building),
                }
                for first_day in (this, before(this))
                for figures in [month(building, first_day)]
            ],
            "people": [
                (role.person.name, role.get_kind_display())
                for role in in_charge.select_related("person").order_by("kind", "person__name")
            ],
        },
    )
