"""Moving out on one page: for one's own household, or by the caretaker for any."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth import logout
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.harvests.share_words import tubs
from bins.people.moving_out import Leaving, claims, move_out
from bins.records import Refused
from households.ledger import UidReused
from households.models import Departure, Household, LedgerRow, Person

from ..access import Reach
from ..doors import Here


def page(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    household = household_of(here, uid)
    if request.method == "POST":
        return leave(request, here, household)
    values = {"uid": str(uuid4()), "last_day": here.today.isoformat()}
    return _form(request, here, household, values, {}, 200)


def leave(request: HttpRequest, here: Here, household: Household) -> HttpResponse:
    values = request.POST.dict()
    try:
        departure = move_out(
            building=here.building,
            household=household,
            told=Leaving.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _form(request, here, household, values, refused.errors, 422)
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _form(request, here, household, values, {"uid": kept}, 422)
    person = here.actor.person
    if person is not None and not Person.objects.within(here.building).filter(pk=person.pk).exists():
        logout(request)
        messages.success(request, _("You have moved out, and your names are deleted. Thank you, and all the best."))
        return HttpResponseRedirect("/")
    if departure.forgotten_at is not None:
        messages.success(request, _("The household has moved out, and its names are deleted."))
    else:
        messages.success(request, _("The last day is written down. The names go once nothing waits for them."))
    return HttpResponseRedirect(reverse("building", args=[here.building.uid]))


def household_of(here: Here, uid: UUID) -> Household:
    """A household that the person may move out: their own, or any for the caretaker; 404 for any other."""
    household: Household | None = Household.objects.within(here.building).filter(uid=uid).first()
    person = here.actor.person
    is_own = household is not None and person is not None and person.household_id == household.pk
    if household is None or not (is_own or here.grant.reach is Reach.BUILDING):
        raise Http404
    return household


def _form(
    request: HttpRequest, here: Here, household: Household, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    open_claims = claims(here.building, household)
    departure = Departure.objects.within(here.building).filter(household=household).first()
    is_own = here.actor.person is not None and here.actor.person.household_id == household.pk
    return render(
        request,
        "pages/leave.html",
        {
            "household": household,
            "departure": departure,
            "is_own": is_own,
            "claims": open_claims,
            "waiting": tubs(open_claims.millionths) if open_claims.waiting else "",
            "shares": [(value, label, value == values.get("share")) for value, label in Departure.Share.choices],
            "values": values,
            "errors": errors,
        },
        status=status,
    )
