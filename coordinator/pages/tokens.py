"""A person's keys to the API: made with a name and an end, shown once, revoked at will."""

import datetime as dt
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from households.models import ApiToken, Audit, Person

from ..doors import Here

DAYS = (30, 90, 365)


def show(request: HttpRequest, here: Here) -> HttpResponse:
    return _page(request, here, {})


def add(request: HttpRequest, here: Here) -> HttpResponse:
    """Make a token. The secret is on this one page and nowhere else afterwards."""
    reader = Reader(request.POST.dict())
    name = reader.words("name", 60, _("What is the key for?"))
    days = reader.choice("days", [str(d) for d in DAYS], "90")
    try:
        reader.finish()
    except Refused as refused:
        return _page(request, here, refused.errors, status=422)
    secret = ApiToken.new_secret()
    ApiToken.objects.create(
        building=here.building,
        uid=uuid4(),
        person=_person(here),
        name=name,
        secret_hash=ApiToken.hash_of(secret),
        created_at=here.now,
        expires_at=here.now + dt.timedelta(days=int(days)),
    )
    Audit.note(here.building, here.actor.person, "token-made", here.now, name=name)
    return _page(request, here, {}, secret=secret)


def revoke(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    changed = (
        ApiToken.objects.within(here.building)
        .filter(uid=uid, person=_person(here), revoked_at__isnull=True)
        .update(revoked_at=here.now)
    )
    if not changed:
        raise Http404
    Audit.note(here.building, here.actor.person, "token-revoked", here.now, token=str(uid))
    messages.info(request, _("The key no longer opens anything."))
    return HttpResponseRedirect(reverse("tokens", args=[here.building.uid]))


def _person(here: Here) -> Person:
    assert here.actor.person is not None  # no rule of tokens admits a stranger
    return here.actor.person


def _page(
    request: HttpRequest, here: Here, errors: dict[str, str], *, secret: str = "", status: int = 200
) -> HttpResponse:
    tokens = ApiToken.objects.within(here.building).filter(person=_person(here), revoked_at__isnull=True)
    return render(
        request,
        "pages/tokens.html",
        {
            "tokens": tokens.order_by("expires_at"),
            "errors": errors,
            "values": {} if secret else request.POST,
            "secret": secret,
            "days": [(days, str(days) == request.POST.get("days", "90")) for days in DAYS],
        },
        status=status,
    )


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add(request, here) if request.method == "POST" else show(request, here)
