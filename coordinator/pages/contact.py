"""How somebody is reminded, and the secret address of the own calendar."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.records import Refused
from bins.slots.contact import Contact, end_feed, new_feed, set_contact
from households.models import FeedKey, Person

from ..doors import Here

NO_ERRORS: dict[str, str] = {}


def page(request: HttpRequest, here: Here) -> HttpResponse:
    if request.method != "POST":
        return _page(request, here, NO_ERRORS)
    try:
        set_contact(building=here.building, person=_person(here), told=Contact.from_raw(request.POST.dict()))
    except Refused as refused:
        return _page(request, here, refused.errors)
    messages.success(request, _("Kept."))
    return HttpResponseRedirect(reverse("contact", args=[here.building.uid]))


def address(request: HttpRequest, here: Here) -> HttpResponse:
    """Make a new address. It is on this one page and nowhere else afterwards."""
    secret = new_feed(building=here.building, person=_person(here), now=here.now)
    return _page(request, here, NO_ERRORS, feed=feed_address(request, here, secret))


def end(request: HttpRequest, here: Here) -> HttpResponse:
    end_feed(building=here.building, person=_person(here), now=here.now)
    messages.success(request, _("The address opens nothing any more."))
    return HttpResponseRedirect(reverse("contact", args=[here.building.uid]))


def feed_address(request: HttpRequest, here: Here, secret: str) -> str:
    """The whole address, as a calendar program takes it."""
    path = reverse("feed", args=[here.building.uid, secret])
    return settings.PUBLIC_URL + path if settings.PUBLIC_URL else request.build_absolute_uri(path)


def _person(here: Here) -> Person:
    assert here.actor.person is not None  # the rules ask for a resident
    return here.actor.person


def _page(request: HttpRequest, here: Here, errors: dict[str, str], *, feed: str = "") -> HttpResponse:
    person = _person(here)
    told: dict[str, Any] = request.POST.dict() if errors else {"channel": person.channel, "phone": person.phone}
    return render(
        request,
        "pages/contact.html",
        {
            "person": person,
            "channels": [(code, label, code == told.get("channel")) for code, label in Person.Channel.choices],
            "phone": told.get("phone", ""),
            "errors": errors,
            "feed": feed,
            "has_feed": FeedKey.objects.within(here.building).filter(person=person).exists(),
        },
        status=422 if errors else 200,
    )
