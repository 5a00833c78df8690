"""The rest of the set-up, once the building stands: question by question, ending with what the drums carry."""

from math import ceil
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.founding.arranging import (
    STEPS,
    SiteAnswer,
    answered,
    arrange_browns,
    mark_answered,
    pass_terms_on,
    set_answer,
    site_of,
)
from bins.founding.capacity import SiteCapacity, capacities
from bins.founding.permitting import Permissions, full_drum_kg, missing, write_permissions
from bins.harvests.terms import Decided, Terms, set_terms
from bins.hatch import drum_states
from bins.intake.accepting import versions
from bins.mixing.browns import BrownsTold
from bins.models import Contribution
from bins.records import Refused
from households.models import LedgerRow, Permission, Site

from .. import mix_words
from ..doors import Here
from ..later_questions import later_groups, later_values
from ..questions import FIRST, TITLES, filled
from .accepted import grouped, items_of
from .amounts import about_weight, volume, weight

NO_ERRORS: dict[str, str] = {}
PLAINLY_UNDER_PERCENT = 95  # chosen: eighteen days a year with nothing open is no longer "nearly always"


def overview(request: HttpRequest, here: Here) -> HttpResponse:
    """What stands, what is still to be asked, what the drums carry, and what to print."""
    done = answered(here.building)
    states = drum_states(here.building)
    site = site_of(here.building)
    steps = _steps(here, done)
    found = capacities(here.building)
    return render(
        request,
        "pages/setup_done.html",
        {
            "site": site,
            "states": states,
            "open_states": [state for state in states if state.open],
            "steps": steps,
            "following": next((one for one in steps if not one["is_done"]), None),
            "left": sum(not one["is_done"] for one in steps),
            "begins": len(FIRST) + 1,
            "has_begun": Contribution.objects.within(here.building).exists(),
            "capacities": [_told(here, one) for one in found],
            "plainly_under": PLAINLY_UNDER_PERCENT,
            "missing": [Permission.Of(of).label for of in missing(site, _permissions(here, site))],
            "may_log": here.may("add", "drop-off"),
            "may_print": here.may("print", "sign"),
        },
    )


def step(request: HttpRequest, here: Here, step: str) -> HttpResponse:
    """One question; its answer is in force at once."""
    if step not in _of(here):
        raise Http404
    site = site_of(here.building)
    if request.method != "POST":
        return _page(request, here, site, step, None, NO_ERRORS)
    values = request.POST.dict()
    try:
        _answer(request, here, site, step, values)
    except Refused as refused:
        return _page(request, here, site, step, values, refused.errors)
    mark_answered(building=here.building, step=step, now=here.now)
    done = answered(here.building)
    following = next((name for name in _of(here) if name not in done), None)
    if following is None:
        return HttpResponseRedirect(reverse("arrange", args=[here.building.uid]))
    return HttpResponseRedirect(reverse("arrange-step", args=[here.building.uid, following]))


def _answer(request: HttpRequest, here: Here, site: Site, step: str, values: dict[str, Any]) -> None:
    """Keep one answer by its own service. What a form leaves out stays as it is in force."""
    building, person, now = here.building, here.actor.person, here.now
    kept = later_values(step, site, {}, _capacity(here, site)) | values
    match step:
        case "accepted":
            return  # the usual list is in force; another one is made on its own page
        case "browns":
            told = BrownsTold.from_raw(kept | {"cup_ml": site.cup_ml})
            changed = arrange_browns(building=building, site=site, told=told, person=person, now=now)
            said = {"cups": mix_words.cups(changed.half_cups_per_pail)}
            messages.info(request, _("By that it is %(cups)s for each full pail.") % said)
        case "permissions":
            write_permissions(building=building, site=site, told=Permissions.from_raw(values), person=person, now=now)
        case "sharing":
            terms = Terms.from_raw(
                {
                    "site": site.uid,
                    "ceiling_percent": site.ceiling_percent,
                    "least_drop_offs": site.least_drop_offs,
                    "tub_litres": site.tub_ml / 1000,
                    "unclaimed_after_days": site.unclaimed_after_days,
                    "least_tubs": site.least_tubs,
                    "most_tubs": site.most_tubs,
                    "minutes_a_visit": site.minutes_a_visit,
                    "requests_by_weight": site.requests_by_weight,
                }
                | kept
            )
            decided = Decided(uuid4(), None, "")  # its reason is the question itself; the same answer changes nothing
            via = LedgerRow.Via.WEB
            changed = set_terms(building=building, told=terms, decided=decided, by=person, via=via, now=now)
            pass_terms_on(building=building, site=changed)
        case _:
            set_answer(building=building, site=site, told=SiteAnswer.from_raw(step, kept), person=person, now=now)


def _of(here: Here) -> tuple[str, ...]:
    """The questions that this person may answer: the rule of sharing is the committee's."""
    return tuple(name for name in STEPS if name != "sharing" or here.may("set", "sharing"))


def _steps(here: Here, done: frozenset[str]) -> list[dict[str, Any]]:
    may = here.may("set", "setup")
    return [
        {
            "name": name,
            "title": TITLES[name],
            "url": reverse("arrange-step", args=[here.building.uid, name]) if may else "",
            "is_done": name in done,
        }
        for name in _of(here)
    ]


def _told(here: Here, one: SiteCapacity) -> dict[str, Any]:
    """What a site carries, in the building's units."""
    return {
        "one": one,
        "layer": volume(one.base_layer_litres * 1000, here.building),
        "chamber": volume(one.chamber_litres * 1000, here.building),
        "weekly": weight(round(one.load.kg_per_week * 1000), here.building),
        "weeks": ceil(one.rest_days / 7),
    }


def _capacity(here: Here, site: Site) -> SiteCapacity | None:
    return next((one for one in capacities(here.building) if one.site.pk == site.pk), None)


def _permissions(here: Here, site: Site) -> dict[str, Permission]:
    return {one.of: one for one in Permission.objects.within(here.building).filter(site=site)}


def _page(
    request: HttpRequest, here: Here, site: Site, step: str, values: dict[str, Any] | None, errors: dict[str, str]
) -> HttpResponse:
    found = _capacity(here, site)
    shown = later_values(step, site, _permissions(here, site), found) | (values or {})
    steps = _steps(here, answered(here.building))
    return render(
        request,
        "pages/setup.html",
        {
            "title": TITLES[step],
            "step": step,
            "site": site,
            "groups": filled(later_groups(step), shown, errors),
            "errors": errors,
            "number": len(FIRST) + STEPS.index(step) + 1,
            "of": len(FIRST) + len(STEPS),
            "before": len(FIRST),
            "begins": len(FIRST) + 1,
            "address": reverse("arrange-step", args=[here.building.uid, step]),
            "back": reverse("arrange", args=[here.building.uid]),
            "steps": [(one["title"], one["url"], one["is_done"], one["name"] == step) for one in steps],
            "capacity": found,
            "weighs": about_weight(full_drum_kg(found.chamber_litres) * 1000, here.building) if found else "",
            "accepted": grouped(items_of(versions(here.building, site).first())) if step == "accepted" else [],
        },
        status=422 if errors else 200,
    )
