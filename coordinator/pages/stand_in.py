"""Who leads a site, who is away, who stands in, and the one page that a stand-in takes along."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.duties.attending import days_alone, pause_of
from bins.duties.leads import DaysTold, HandoverTold, lead_away, let_go, set_handover, set_leads, stand_in
from bins.duties.limits import to_carry_for
from bins.duties.mine import duties_by_first_name
from bins.hatch import drum_states
from bins.records import Refused
from households.models import Handover, Lead, LeadAway, Person, Role, Site, StandIn

from ..doors import Here
from ..duty_words import work
from ..words import STAGES
from .duty_kinds import site_of

LIST_DAYS = 14  # chosen: what fits on one page


def page(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    found = site_of(here, site)
    if request.method != "POST":
        return _page(request, here, found, {}, {}, 200)
    values = request.POST.dict()
    try:
        write(here, found, values, request.POST.getlist("leads"))
    except Refused as refused:
        return _page(request, here, found, values, refused.errors, 422)
    messages.success(request, _("Kept."))
    return HttpResponseRedirect(reverse("stand-in", args=[here.building.uid, site]))


def write(here: Here, site: Site, raw: dict[str, Any], leads: list[str]) -> None:
    """One of: leads, away, stand-in, let-go, handover. Raises Refused."""
    who: dict[str, Any] = {"building": here.building, "site": site, "now": here.now}
    person = here.actor.person
    match raw.get("what"):
        case "leads":
            try:
                uids = tuple(UUID(str(one)) for one in leads)
            except ValueError:
                raise Refused({"leads": _("Choose one or two people who look after the place.")}) from None
            set_leads(**who, people=uids, person=person)
        case "away":
            lead_away(**who, told=DaysTold.from_raw(raw, here.today))
        case "stand-in":
            stand_in(**who, told=DaysTold.from_raw(raw, here.today), person=person)
        case "let-go":
            try:
                let_go(**who, uid=UUID(str(raw.get("uid"))), person=person)
            except ValueError:
                raise Refused({"uid": _("A UUID is needed, made once by whoever writes the record down.")}) from None
        case "handover":
            set_handover(**who, told=HandoverTold.from_raw(raw), person=person)
        case _:
            known = "leads, away, stand-in, let-go, handover"
            raise Refused({"what": _("One of these is needed: %(choices)s.") % {"choices": known}})


def paper(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """Keys, gloves, how to stop things, what stands open, and two weeks of duties: one page."""
    found = site_of(here, site)
    duties = duties_by_first_name(here.building, here.today, here.today + dt.timedelta(days=LIST_DAYS - 1), here.now)
    return render(
        request,
        "pages/stand_in_list.html",
        {
            "site": found,
            "handover": Handover.objects.within(here.building).filter(site=found).first(),
            "drums": [
                (state, [(hatch.place.letter, STAGES[hatch.stage]) for hatch in state.hatches])
                for state in drum_states(here.building)
                if state.drum.site_id == found.pk
            ],
            "duties": [
                (one.duty, work(one.duty.kind), ", ".join(one.names))
                for one in duties
                if one.duty.kind.site_id == found.pk
            ],
            "carried": to_carry_for(here.building, found),
        },
    )


def _page(
    request: HttpRequest, here: Here, site: Site, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    today = here.today
    leads = list(Lead.objects.within(here.building).filter(site=site).select_related("person").order_by("number"))
    held = Role.objects.within(here.building).filter(kind=Role.Kind.CARETAKER).held_on(today)
    lead_pks = {lead.person_id for lead in leads}
    away = LeadAway.objects.within(here.building).filter(lead__site=site, last_on__gte=today)
    stand_ins = StandIn.objects.within(here.building).filter(site=site, last_on__gte=today)
    alone = days_alone(here.building, today).get(site.pk, [])
    handover = Handover.objects.within(here.building).filter(site=site).first()
    people = Person.objects.within(here.building).order_by("name")
    return render(
        request,
        "pages/stand_in.html",
        {
            "site": site,
            "leads": leads,
            "able": [(person, person.pk in lead_pks) for person in people.filter(pk__in=held.values("person"))],
            "away": away.select_related("lead__person").order_by("first_on", "pk"),
            "stand_ins": stand_ins.select_related("person").order_by("first_on", "pk"),
            "alone": alone[0] if alone else None,
            "pause": pause_of(here.building, site),
            "people": people,
            "handover": values if values.get("what") == "handover" else handover,
            "what": values.get("what", ""),
            "values": values,
            "errors": errors,
            "uids": {"away": uuid4(), "stand_in": uuid4()},
        },
        status=status,
    )
