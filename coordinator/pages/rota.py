"""The planner: a period looked at, cells fixed, the plan put up; planned again in three ways; a month on paper."""

import calendar
import datetime as dt
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.duties.mine import duties_by_first_name, names_of
from bins.duties.pinning import CellTold, set_cell
from bins.duties.planning import Gathered, next_period
from bins.duties.publishing import PlanTold, plan_again, plans_ahead, preview, publish, read_period, ways_again
from bins.records import Reader, Refused
from households.ledger import UidReused
from households.models import Pin, RotaPlan, Site
from households.rota.plan import Infeasible, Plan, Replan, Replans

from ..doors import Here
from ..duty_words import WAYS, obstacle, on_day, work
from .duty_kinds import site_of


def page(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    found = site_of(here, site)
    if request.method != "POST":
        return _look(request, here, found, {}, {}, 200)
    values = request.POST.dict()
    try:
        told = PlanTold.from_raw(values, here.today)
        row = publish(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _look(request, here, found, values, refused.errors, 422)
    except UidReused:
        return _look(request, here, found, values, {"uid": _("This was already sent with other values.")}, 422)
    messages.success(request, _("The plan is up. Everybody sees their own duties now."))
    return HttpResponseRedirect(_month_address(here, site, row.first_on))


def cell(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """Fix a cell, or let it go, and look again."""
    found, values = site_of(here, site), request.POST.dict()
    try:
        told = CellTold.from_raw(values)
        set_cell(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _look(request, here, found, values, refused.errors, 422)
    period = f"?first={values.get('first', '')}&last={values.get('last', '')}" if values.get("first") else ""
    return HttpResponseRedirect(reverse("rota", args=[here.building.uid, site]) + period)


def again(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """Three plans beside the one in force."""
    found = site_of(here, site)
    if request.method != "POST":
        return _ways(request, here, found, {}, 200)
    try:
        told = PlanTold.from_raw(request.POST.dict(), here.today, again=True)
        row = plan_again(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _ways(request, here, found, refused.errors, 422)
    except UidReused:
        return _ways(request, here, found, {"uid": _("This was already sent with other values.")}, 422)
    messages.success(request, _("The new plan is up. Whoever has other days now is told by mail."))
    return HttpResponseRedirect(_month_address(here, site, max(row.first_on, here.today)))


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
        if one.duty.kind.site_id == found.pk and one.duty.day.month == first.month:
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


def minutes(seconds: int) -> int:
    return round(seconds / 60)


def _month_address(here: Here, site: UUID, day: dt.date) -> str:
    return reverse("rota-month", args=[here.building.uid, site, day.year, day.month])


def _look(
    request: HttpRequest, here: Here, site: Site, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    asked = request.GET.dict() if request.method == "GET" else values
    first, last = next_period(here.building, site, here.now)
    if asked.get("first") or asked.get("last"):
        reader = Reader(asked)
        period = read_period(reader, here.today)
        errors = errors or reader.errors
        first, last = (first, last) if reader.errors else period
    seen = preview(here.building, site, first, last, here.now)
    names = names_of(here.building)
    plans = plans_ahead(here.building, site, here.today)
    return render(
        request,
        "pages/rota.html",
        {
            "site": site,
            "first": first,
            "last": last,
            "uid": uuid4(),
            "mark": seen.mark,
            "errors": errors,
            "obstacle": obstacle(seen.outcome, seen.gathered, names) if isinstance(seen.outcome, Infeasible) else None,
            "is_undecided": seen.outcome is None,
            "plan": seen.outcome if isinstance(seen.outcome, Plan) else None,
            "duties": _duties(seen.gathered, seen.outcome, names) if isinstance(seen.outcome, Plan) else [],
            "loads": _loads(seen.gathered, seen.outcome, names) if isinstance(seen.outcome, Plan) else [],
            "cells": [(f"{one.kind.uid}/{one.day}", on_day(one)) for one in seen.gathered.occurrences.values()],
            "homes": sorted(
                ((home.uid, names.get(home.pk) or home.label) for home in seen.gathered.households.values()),
                key=lambda one: one[1].casefold(),
            ),
            "pins": _pins(here, site, first, last, names),
            "plans": [(row, f"{row.first_on:%Y}", f"{row.first_on:%m}".lstrip("0")) for row in plans],
        },
        status=status,
    )


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


def _ways(request: HttpRequest, here: Here, site: Site, errors: dict[str, str], status: int) -> HttpResponse:
    plans = plans_ahead(here.building, site, here.today)
    wished = request.GET.get("first", request.POST.get("first", ""))
    plan: RotaPlan | None = next((row for row in plans if row.first_on.isoformat() == wished), None)
    plan = plan or (plans[0] if plans else None)
    found = ways_again(here.building, plan, here.now) if plan else None
    names = names_of(here.building)
    ways = []
    if found is not None and isinstance(found.outcome, Replans):
        for way, words in WAYS.items():
            one: Replan = getattr(found.outcome, way)
            ways.append(
                {
                    "way": way,
                    "words": words,
                    "uid": uuid4(),
                    "mark": found.mark(way),
                    "changed": len(one.changed),
                    "loads": _loads(found.gathered, one.plan, names),
                    "changes": _changes(found.gathered, one, names),
                }
            )
    return render(
        request,
        "pages/rota_again.html",
        {
            "site": site,
            "plan": plan,
            "others": [row for row in plans if row != plan],
            "ways": ways,
            "is_undecided": found is not None and found.outcome is None,
            "is_same": bool(ways) and not any(way["changes"] for way in ways),
            "obstacle": obstacle(found.outcome, found.gathered, names)
            if found is not None and isinstance(found.outcome, Infeasible)
            else None,
            "errors": errors,
        },
        status=status,
    )


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
