"""Where a person lands: the hatch of their drum and their own drop-offs; or which building to go to."""

from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from bins.care.winter_room import winter_room
from bins.duties.attending import pause_of
from bins.hatch import drum_states
from bins.intake.buckets import for_household
from bins.intake.dropoff import of_household
from bins.models import Assignment
from households.models import Account, Person, SetupDraft
from households.organisations import held_on
from households.tenancy import as_account

from ..doors import Here
from ..forecast_words import next_ready_line
from ..picture import picture
from .amounts import brought
from .mine import ahead

RECENT = 6  # chosen: about three weeks of pails, and the rest of the page stays near


def home(request: HttpRequest) -> HttpResponse:
    """Signed in: the one building, or a choice. Signed out: what this is, and the ways in."""
    user: Account | AnonymousUser = request.user
    if not isinstance(user, Account):
        return render(
            request,
            "pages/welcome.html",
            {"has_demo": Account.objects.has_demo()},
        )
    with as_account(user):
        mine = list(Person.objects.filter(account=user).select_related("building").order_by("building__name"))
    offices = [role.organisation for role in held_on(user, timezone.now().date())]
    if len(offices) == 1 and not mine:
        return HttpResponseRedirect(reverse("organisation", args=[offices[0].uid]))
    if len(mine) == 1 and not offices:
        return HttpResponseRedirect(reverse("building", args=[mine[0].building.uid]))
    return render(
        request,
        "pages/choose.html",
        {"mine": mine, "offices": offices, "has_draft": SetupDraft.objects.filter(account=user).exists()},
    )


def building(request: HttpRequest, here: Here) -> HttpResponse:
    person = here.actor.person
    states = drum_states(here.building)
    own = (
        Assignment.objects.within(here.building).filter(household=person.household).first()
        if person and person.household
        else None
    )
    state = next((state for state in states if own and state.drum.pk == own.drum_id), states[0] if states else None)
    recent = of_household(here.building, person.household)[:RECENT] if person and person.household else []
    buckets = for_household(here.building, person.household if person else None)
    return render(
        request,
        "pages/building.html",
        {
            "state": state,
            "others": [(other, picture(other)) for other in states if other is not state],
            "picture": picture(state) if state else "",
            "recent": [(row, brought(row, here.building)) for row in recent],
            "room": winter_room(here.building, state.drum, here.now) if state else None,
            "pause": pause_of(here.building, state.drum.site) if state else None,
            "ahead": ahead(here) if here.may("see", "booking") else {},
            "may_log": here.may("add", "drop-off"),
            "may_visit": here.may("see", "today"),
            "may_print": here.may("print", "sign"),
            "may_arrange": here.may("see", "setup"),
            "may_token": here.may("see", "token"),
            "may_enter": here.may("add", "on-behalf"),
            "home_uid": person.household.uid if person and person.household else None,
            "may_browns": here.may("see", "browns"),
            "may_bring": here.may("bring", "browns"),
            "may_bucket": here.may("set", "bucket") or (here.may("see", "bucket") and buckets.exists()),
            "may_duty": here.may("see", "duty"),
            "may_plan": here.may("see", "rota"),
            "may_foresee": here.may("see", "forecast"),
            "ready_line": next_ready_line(here.building, state.drum, here.today)
            if state and here.may("see", "ready-range")
            else "",
        },
    )
