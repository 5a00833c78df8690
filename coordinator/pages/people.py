"""Who belongs to the building, and a form for one more."""

import re
from uuid import UUID, uuid4

from django.conf import settings
from django.contrib import messages
from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.people.joining import Joining, join
from bins.records import Refused
from households.cards import OLD_CARDS_LAST, cancelled_cards, renew_card
from households.ledger import UidReused
from households.models import Card, Household, Person, Role

from ..doors import Here


def show(request: HttpRequest, here: Here) -> HttpResponse:
    return _page(request, here, {"uid": str(uuid4())}, {}, 200)


def add(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        person = join(
            building=here.building,
            told=Joining.from_raw(values, request.POST.getlist("roles")),
            by=here.actor.person,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, values, refused.errors, 422)
    except UidReused:
        kept = _("This form was already sent for somebody else, who was kept. If this is another person, send it now.")
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    messages.success(request, _("%(name)s belongs to the building now.") % {"name": person.name})
    return HttpResponseRedirect(reverse("people", args=[here.building.uid]))


def renew(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """A lost card: its number counts no longer, and the household gets another."""
    found = Household.objects.within(here.building).filter(uid=uid, left_on__isnull=True).first()
    if found is None:
        raise Http404
    card = renew_card(building=here.building, household=found, by=here.actor.person, now=here.now)
    messages.success(
        request,
        _("The old card of %(household)s counts no longer. The new number is %(number)s.")
        % {"household": found.label, "number": card.number},
    )
    return HttpResponseRedirect(reverse("people", args=[here.building.uid]))


def door_order(household: Household | None) -> list[tuple[int, str]]:
    """Flat 2 before Flat 10, as the doors are."""
    parts = re.findall(r"[0-9]+|[^0-9]+", household.label if household else "")
    return [(int(part), "") if part[0] in "0123456789" else (-1, part.casefold()) for part in parts]


def _page(
    request: HttpRequest, here: Here, values: dict[str, str], errors: dict[str, str], status: int
) -> HttpResponse:
    on = here.today
    people = (
        Person.objects.within(here.building)
        .select_related("household__assignment__drum")
        .prefetch_related(
            Prefetch("roles", Role.objects.within(here.building).held_on(on), to_attr="held"),
            Prefetch("household__cards", Card.objects.within(here.building).filter(cancelled_on__isnull=True)),
        )
        .order_by("name")
    )
    in_order = sorted(people, key=lambda one: (one.household is not None, door_order(one.household)))
    chosen = request.POST.getlist("roles") or [Role.Kind.RESIDENT]
    return render(
        request,
        "pages/people.html",
        {
            "people": in_order,
            "homes": list({p.household.pk: p.household for p in in_order if p.household}.values()),
            "cancelled": cancelled_cards(here.building, on - OLD_CARDS_LAST),
            "values": values,
            "errors": errors,
            "kinds": [(value, label, value in chosen) for value, label in Role.Kind.choices],
            "languages": settings.LANGUAGES,
        },
        status=status,
    )


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add(request, here) if request.method == "POST" else show(request, here)
