"""Who belongs to the building, and a form for one more."""

from uuid import uuid4

from django.conf import settings
from django.contrib import messages
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.joining import Joining, join
from bins.records import Refused
from households.models import Person, Role

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
    messages.success(request, _("%(name)s belongs to the building now.") % {"name": person.name})
    return HttpResponseRedirect(reverse("people", args=[here.building.uid]))


def _page(
    request: HttpRequest, here: Here, values: dict[str, str], errors: dict[str, str], status: int
) -> HttpResponse:
    on = here.today
    people = (
        Person.objects.within(here.building)
        .select_related("household__assignment__drum")
        .prefetch_related(Prefetch("roles", Role.objects.within(here.building).held_on(on), to_attr="held"))
        .order_by("household__label", "name")
    )
    chosen = request.POST.getlist("roles") or [Role.Kind.RESIDENT]
    return render(
        request,
        "pages/people.html",
        {
            "people": people,
            "values": values,
            "errors": errors,
            "kinds": [(value, label, value in chosen) for value, label in Role.Kind.choices],
            "languages": settings.LANGUAGES,
        },
        status=status,
    )


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add(request, here) if request.method == "POST" else show(request, here)
