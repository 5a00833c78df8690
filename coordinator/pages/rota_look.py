"""A plan that was asked for: how far it is, then what was found; cells fixed, and the yes that puts it up."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.duties.drafting import State, state_of
from bins.duties.mine import names_of
from bins.duties.outcomes import of_raw
from bins.duties.pinning import CellTold, set_cell
from bins.duties.planning import Gathered, gather
from bins.duties.publishing import PutUp, put_up
from bins.records import Refused
from households.ledger import UidReused
from households.models import Pin, RotaDraft, Site
from households.rota.plan import Infeasible, Plan, Replan, Replans

from ..doors import Here
from ..duty_words import WAYS, obstacle, on_day, work
from .rota import month_address

SECONDS_BETWEEN_LOOKS = 3


def page(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """How far it is, looked at again by itself every few seconds while the reader wants that; then the plan."""
    draft = draft_of(here, uid)
    if request.method != "POST":
        return _page(request, here, draft, {})
    try:
        told = PutUp.from_raw(request.POST.dict())
        row = put_up(building=here.building, draft=draft, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, draft, refused.errors)
    except UidReused:
        return _page(request, here, draft, {"uid": _("This was already sent with other values.")})
    if draft.is_again:
        messages.success(request, _("The new plan is up. Whoever has other days now is told by mail."))
    else:
        messages.success(request, _("The plan is up. Everybody sees their own duties now."))
    return HttpResponseRedirect(month_address(here, draft.site, max(row.first_on, here.today)))


def cell(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """Fix a cell, or let it go; the plan is worked out again when whoever plans has fixed all."""
    draft = draft_of(here, uid)
    try:
        told = CellTold.from_raw(request.POST.dict())
        set_cell(building=here.building, site=draft.site, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, draft, refused.errors)
    return HttpResponseRedirect(reverse("rota-look", args=[here.building.uid, uid]))


def draft_of(here: Here, uid: UUID) -> RotaDraft:
    """A plan that was asked for in this building; 404 for any other."""
    draft: RotaDraft | None = RotaDraft.objects.within(here.building).filter(uid=uid).select_related("site").first()
    if draft is None:
        raise Http404
    return draft


def minutes(seconds: int) -> int:
    return round(seconds / 60)


def _page(request: HttpRequest, here: Here, draft: RotaDraft, errors: dict[str, str]) -> HttpResponse:
    state = state_of(here.building, draft)
    waits = state in (State.ASKED, State.RUNNING)
    looks = request.GET.get("look") == "on"  # a page that moves by itself must be stoppable
    return render(
        request,
        "pages/rota_look.html",
        {
            "draft": draft,
            "site": draft.site,
            "state": state.value,
            "waits": waits,
            "look_again_s": SECONDS_BETWEEN_LOOKS if waits and looks else None,
            "uid": uuid4(),
            "errors": errors,
            **(_found(here, draft) if state is State.DONE else {}),
        },
        status=422 if errors else 200,
    )


def _found(here: Here, draft: RotaDraft) -> dict[str, Any]:
    """What was found, in words; nothing of it once what it rests on has changed."""
    assert draft.outcome is not None  # it is done
    site, names = draft.site, names_of(here.building)
    gathered = gather(here.building, site, draft.first_on, draft.last_on, here.now)
    is_old = gathered.mark != draft.rests_on
    outcome = None if is_old else of_raw(draft.outcome)
    ways = _ways(gathered, outcome, names) if isinstance(outcome, Replans) else []
    frozen = gathered.problem.existing.frozen
    return {
        "is_old": is_old,
        "is_undecided": not is_old and outcome is None,
        "obstacle": obstacle(outcome, gathered, names) if isinstance(outcome, Infeasible) else None,
        "plan": outcome if isinstance(outcome, Plan) else None,
        "duties": _duties(gathered, outcome, names) if isinstance(outcome, Plan) else [],
        "loads": _loads(gathered, outcome, names) if isinstance(outcome, Plan) else [],
        "ways": ways,
        "is_same": bool(ways) and not any(way["changes"] for way in ways),
        "cells": [(f"{x.kind.uid}/{x.day}", on_day(x)) for x in gathered.occurrences.values() if x.uid not in frozen],
        "homes": sorted(
            ((home.uid, names.get(home.pk) or home.label) for home in gathered.households.values()),
            key=lambda one: one[1].casefold(),
        ),
        "pins": _pins(here, site, draft.first_on, draft.last_on, names),
    }


def _duties(gathered: Gathered, plan: Plan, names: dict[int, str]) -> list[dict[str, Any]]:
    people: dict[UUID, list[str]] = {}
    for one in plan.cells:
        home = gathered.households[one.household]
        people.setdefault(one.task, []).append(names.get(home.pk) or home.label)
    return [
        {
            "day": one.day,
            "what": work(one.kind),
            "begins_at": one.kind.begins_at,
            "names": ", ".join(sorted(people.get(uid, []))),
        }
        for uid, one in gathered.occurrences.items()
    ]


def _loads(gathered: Gathered, plan: Plan, names: dict[int, str]) -> list[dict[str, Any]]:
    found = [
        {
            "name": names.get(home.pk) or home.label,
            "times": load.tasks,
            "minutes": load.minutes,
            "due": minutes(load.due_seconds),
            "before": minutes(load.ahead_before_seconds),
            "after": minutes(load.ahead_after_seconds),
        }
        for load in plan.loads
        for home in [gathered.households[load.household]]
    ]
    return sorted(found, key=lambda one: str(one["name"]).casefold())  # by name: no ranking


def _pins(here: Here, site: Site, first: dt.date, last: dt.date, names: dict[int, str]) -> list[dict[str, Any]]:
    rows = Pin.objects.within(here.building).filter(kind__site=site, day__gte=first, day__lte=last)
    return [
        {
            "pin": pin,
            "cell": f"{pin.kind.uid}/{pin.day}",
            "what": work(pin.kind),
            "name": names.get(pin.household_id) or pin.household.label,
        }
        for pin in rows.select_related("kind", "household").order_by("day", "pk")
    ]


def _ways(gathered: Gathered, outcome: Replans, names: dict[int, str]) -> list[dict[str, Any]]:
    found = []
    for way, words in WAYS.items():
        one: Replan = getattr(outcome, way)
        found.append(
            {
                "way": way,
                "words": words,
                "uid": uuid4(),
                "changed": len(one.changed),
                "loads": _loads(gathered, one.plan, names),
                "changes": _changes(gathered, one, names),
            }
        )
    return found


def _changes(gathered: Gathered, one: Replan, names: dict[int, str]) -> list[dict[str, Any]]:
    """Each duty whose people change: who goes, who comes."""
    moves: dict[UUID, dict[str, list[str]]] = {}
    for key, cells in (("goes", one.dropped), ("comes", one.added)):
        for found in cells:
            home = gathered.households.get(found.household)
            name = (names.get(home.pk) or home.label) if home else ""
            moves.setdefault(found.task, {"goes": [], "comes": []})[key].append(name)
    return [
        {"what": on_day(occurrence), "goes": ", ".join(moves[uid]["goes"]), "comes": ", ".join(moves[uid]["comes"])}
        for uid, occurrence in gathered.occurrences.items()
        if uid in moves
    ]
