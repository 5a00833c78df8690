"""Setting up a site's duties: which, when, how many people, how long."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _

from bins.duties.kinds import USUAL_MINUTES, KindTold, kinds_of, set_kind
from bins.duties.kinds import WEEKDAYS as CODES
from bins.duties.numbers import DutyNumbers, set_numbers
from bins.duties.sharers import SharersTold, households_of, set_sharers
from bins.records import Refused
from households.ledger import UidReused
from households.models import DutyKind, Site

from ..doors import Here
from ..duty_words import when, work
from .people import door_order


def site_of(here: Here, uid: UUID) -> Site:
    site: Site | None = Site.objects.within(here.building).filter(uid=uid).first()
    if site is None:
        raise Http404
    return site


def page(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    found = site_of(here, site)
    if request.method != "POST":
        return _page(request, here, found, {}, {}, 200)
    values = request.POST.dict()
    try:
        if "notice_days" in values:
            numbers = DutyNumbers.from_raw(values)
            set_numbers(building=here.building, site=found, told=numbers, person=here.actor.person, now=here.now)
        else:
            raw = {"is_heavy": "no", "is_on": "no"} | values
            told = KindTold.from_raw(raw, request.POST.getlist("days"), here.today)
            set_kind(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, found, values, refused.errors, 422)
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _page(request, here, found, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    messages.success(request, _("Kept. It counts from the next plan on."))
    return HttpResponseRedirect(reverse("duty-kinds", args=[here.building.uid, site]))


def sharers(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    found = site_of(here, site)
    try:
        told = SharersTold.from_raw(request.POST.getlist("households"))
        set_sharers(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, found, {}, refused.errors, 422)
    messages.success(request, _("Kept. It counts from the next plan on."))
    return HttpResponseRedirect(reverse("duty-kinds", args=[here.building.uid, site]))


def _page(
    request: HttpRequest, here: Here, site: Site, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    kinds = kinds_of(here.building, site)
    sent = str(values.get("uid", ""))
    forms = [_form(kind, request, values if str(kind.uid) == sent else None, errors) for kind in kinds]
    is_new = bool(values) and "notice_days" not in values and sent not in {str(kind.uid) for kind in kinds}
    forms.append(_form(None, request, values if is_new else None, errors))
    return render(
        request,
        "pages/duty_kinds.html",
        {
            "site": site,
            "on": [form for form in forms if form["kind"] is not None and form["kind"].is_on],
            "forms": forms,
            "fault_n": next((number for number, form in enumerate(forms, start=1) if form["errors"]), ""),
            "errors": errors,
            "homes": sorted(households_of(here.building, site, here.today), key=lambda one: door_order(one[0])),
            "numbers": values if "notice_days" in values else {
                "notice_days": site.duty_notice_days, "days_apart": site.duty_days_apart,
            },
            "sites": Site.objects.within(here.building).exclude(pk=site.pk).order_by("name"),
        },
        status=status,
    )  # fmt: skip


def _form(
    kind: DutyKind | None, request: HttpRequest, values: dict[str, Any] | None, errors: dict[str, str]
) -> dict[str, Any]:
    """One duty's form: as it stands, or as it was sent and refused."""
    empty: dict[str, Any] = {"work": "", "days": [], "least": 1, "usual": 2}
    if values is not None:
        held = empty | values | {"days": request.POST.getlist("days")}
    elif kind is not None:
        held = {
            "uid": kind.uid, "work": kind.work, "rule": kind.rule, "days": [], "least": kind.least, "usual": kind.usual,
            "minutes": kind.minutes, "begins_at": kind.begins_at.strftime("%H:%M") if kind.begins_at else "",
            "is_heavy": "yes" if kind.is_heavy else "", "is_on": "yes" if kind.is_on else "",
        }  # fmt: skip
        if kind.rule.startswith("FREQ=WEEKLY;BYDAY=") and set(kind.rule[18:].split(",")) <= set(CODES):
            held |= {"days": kind.rule[18:].split(","), "rule": ""}
    else:
        held = empty | {"uid": uuid4(), "is_on": "yes"}
    return {
        "kind": kind,
        "what": work(kind) if kind else "",
        "when": when(kind) if kind else "",
        "values": held,
        "errors": errors if values is not None else {},
        "works": [(value, label, value == held["work"]) for value, label in DutyKind.Work.choices],
        "weekdays": [(code, WEEKDAYS[n], code in held["days"]) for n, code in enumerate(CODES)],
        "usual_minutes": USUAL_MINUTES,
    }
