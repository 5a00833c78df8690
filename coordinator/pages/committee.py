"""The committee's page: what waits for its word, what it decided, and writing a decision down."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.committee.decided import decisions_of
from bins.committee.deciding import Decided, committee_people, record_decision
from bins.committee.questions import committee_questions, refuse_what_is_not_theirs
from bins.committee.ways import Ways, set_ways
from bins.decisions.settle import BACK, TAKE_OUT, confirm, decline
from bins.models import Decision
from bins.process.proposal import Reason
from bins.records import Reader, Refused
from households.ledger import UidReused
from households.models import CommitteeDecision, LedgerRow, Site

from .. import committee_words
from ..doors import Here
from ..words import why
from .today import told

About = CommitteeDecision.About
# What is changed on a page of its own is written down there; here the rest is.
FREELY = (About.OTHER, About.LIMITS)


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add(request, here) if request.method == "POST" else _page(request, here, {}, {})


def add(request: HttpRequest, here: Here) -> HttpResponse:
    values: dict[str, Any] = request.POST.dict() | {"people": request.POST.getlist("people")}
    try:
        record_decision(
            building=here.building, told=Decided.from_raw(values), by=here.actor.person, via=LedgerRow.Via.WEB,
            now=here.now,
        )  # fmt: skip
    except Refused as refused:
        return _page(request, here, values, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    except UidReused:
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": _sent_before()})
    messages.success(request, _("The decision is written down."))
    return HttpResponseRedirect(reverse("committee", args=[here.building.uid]))


def ways(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """When scraps may be brought at a site, and who decides there."""
    values = request.POST.dict() | {"site": str(site)}
    try:
        told_ways = Ways.from_raw(values)
        set_ways(building=here.building, told=told_ways, by=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except Refused as refused:
        return _page(request, here, values, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    except UidReused:
        return _page(request, here, {}, {"uid": _sent_before()})
    messages.success(request, _("It holds from now on, and stands among the decisions."))
    return HttpResponseRedirect(reverse("committee", args=[here.building.uid]))


def answer(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """Yes or no to a question of the rules that waits for the committee."""
    given, reason = request.POST.get("answer", ""), Reader(request.POST.dict()).words("why", 300, "")
    who: dict[str, Any] = {
        "building": here.building,
        "uid": uid,
        "person": here.actor.person,
        "now": here.now,
        "why": reason,
    }
    try:
        refuse_what_is_not_theirs(here.building, uid)
        settled = (
            decline(**who, via=LedgerRow.Via.WEB)
            if given == "no"
            else confirm(**who, via=LedgerRow.Via.WEB, choice=given if given in (TAKE_OUT, BACK) else "")
        )
        messages.info(request, told(settled))
    except Decision.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        messages.error(request, " ".join(refused.errors.values()))
    return HttpResponseRedirect(reverse("committee", args=[here.building.uid]))


def _sent_before() -> str:
    return _("This form was already sent with other values. What was sent first was kept as it is.")


def _page(request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str]) -> HttpResponse:
    may_add, sees_names = here.may("add", "committee-decision"), "people" in here.grant.fields
    waiting = committee_questions(here.building) if here.may("answer", "committee-question") else ()
    people = committee_people(here.building, here.today) if may_add else ()
    chosen = values.get("people") or ([str(here.actor.person.uid)] if here.actor.person else [])
    return render(
        request,
        "pages/committee.html",
        {
            "tasks": [
                {
                    "decision": decision,
                    "why": why(decision),
                    "has_two_ways": decision.reason == Reason.FRESH_WHILE_READY,
                }
                for decision in waiting
            ],
            "decided": [
                {
                    "row": row,
                    "about": committee_words.about(row),
                    "in_short": committee_words.in_short(row),
                    "words": row.words or committee_words.answered(row),
                    "changes": committee_words.changes(row, here.building),
                    "people": [one.person.name for one in row.attributions.all() if one.person] if sees_names else [],
                }
                for row in decisions_of(here.building)
            ],
            "may_add": may_add,
            "sees_names": sees_names,
            "sites": _sites(here, values) if here.may("set", "site-ways") else [],
            "people": [(person, str(person.uid) in chosen) for person in people],
            "abouts": [(about.value, about.label, about == values.get("about", About.OTHER)) for about in FREELY],
            "values": {"uid": str(uuid4()), "decided_on": here.today.isoformat()} | values,
            "errors": errors,
            "is_ways": "site" in values,
        },
        status=422 if errors else 200,
    )


def _sites(here: Here, values: dict[str, Any]) -> list[dict[str, Any]]:
    found = []
    for site in Site.objects.within(here.building).order_by("name", "pk"):
        shown = {"opening": site.opening, "decides": site.decides}
        if values.get("site") == str(site.uid):
            shown |= values
        found.append(
            {
                "site": site,
                "uid": uuid4(),
                "why": shown.get("why", ""),
                "openings": [(*choice, choice[0] == shown["opening"]) for choice in Site.Opening.choices],
                "deciders": [(*choice, choice[0] == shown["decides"]) for choice in Site.Decides.choices],
            }
        )
    return found
