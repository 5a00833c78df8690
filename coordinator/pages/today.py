"""The caretaker's list: what needs a person first, then one visit form a drum."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.hatch import DrumState, drum_states
from bins.models import Decision, Drum, Visit
from bins.process.proposal import Rule
from bins.records import Refused
from bins.settle import Settled, confirm, decline
from bins.visit import LEVELS, CareVisit, record_visit
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from ..picture import picture
from ..words import LEVELS as LEVEL_WORDS
from ..words import why


def show(request: HttpRequest, here: Here) -> HttpResponse:
    return _list(request, here, {}, {}, 200)


def add_visit(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        record_visit(
            building=here.building,
            told=CareVisit.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _list(request, here, values, refused.errors, 422)
    except Drum.DoesNotExist:
        raise Http404 from None
    except UidReused:
        kept = _("This visit was already sent with other values. The first one was kept as it is.")
        return _list(request, here, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    messages.success(request, _("The visit is written down."))
    return HttpResponseRedirect(reverse("today", args=[here.building.uid]))


def answer(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """ "Tag moved", yes or no to a proposal."""
    try:
        if request.POST.get("answer") == "no":
            settled = decline(building=here.building, uid=uid, person=here.actor.person, now=here.now)
        else:
            settled = confirm(
                building=here.building, uid=uid, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now
            )
    except Decision.DoesNotExist:
        raise Http404 from None
    messages.info(request, told(settled))
    return HttpResponseRedirect(reverse("today", args=[here.building.uid]))


def told(settled: Settled) -> str:
    """What came of an answer, in one sentence."""
    match settled.decision.state:
        case Decision.State.APPLIED if settled.decision.next_place is not None:
            mark = settled.decision.next_place.letter
            return _("Hatch %(mark)s is open now, and the pages say so.") % {"mark": mark}
        case Decision.State.APPLIED:
            return _("Done. The record has it.")
        case Decision.State.DECLINED:
            return _("Left as it is. It is asked again when new measurements say so.")
        case _ if settled.instead is not None:
            return _("Things have changed since. Nothing was done; please look at the new question below.")
        case _:
            return _("Things have changed since, and this is no longer needed. Nothing was done.")


def _list(
    request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    states = drum_states(here.building)
    decisions = (
        Decision.objects.within(here.building)
        .proposed()
        .select_related("batch__drum", "batch__place", "next_place")
        .order_by("made_at", "pk")
    )
    return render(
        request,
        "pages/today.html",
        {
            "tasks": [
                {
                    "decision": decision,
                    "why": why(decision),
                    "moves_tag": decision.rule == Rule.CLOSE and decision.next_place is not None,
                    "shuts_site": decision.rule == Rule.CLOSE and decision.next_place is None,
                }
                for decision in decisions
            ],
            "drums": [_visit_form(state, values, errors) for state in states],
            "troubles": Visit.Trouble.choices,
        },
        status=status,
    )


def _visit_form(state: DrumState, values: dict[str, Any], errors: dict[str, str]) -> dict[str, Any]:
    is_this = values.get("drum") == str(state.drum.uid)
    mine = values if is_this else {}
    return {
        "state": state,
        "picture": picture(state),
        "uid": mine.get("uid") or str(uuid4()),
        "turned": mine.get("turned", ""),
        "trouble": mine.get("trouble", Visit.Trouble.NOTHING),
        "levels": [(name, LEVEL_WORDS[name], name == mine.get("level")) for name in LEVELS],
        "errors": errors if is_this else {},
    }


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add_visit(request, here) if request.method == "POST" else show(request, here)
