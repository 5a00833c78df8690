"""The address on a drum's sign: which hatch, for whoever stands before it. No account needed."""

from uuid import UUID

import segno
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import get_language

from bins.hatch import DrumState, drum_states
from bins.models import Drum

from ..doors import Here
from ..picture import picture


def state_of(here: Here, uid: UUID) -> DrumState:
    """One drum of this building; 404 for any other."""
    drum = Drum.objects.within(here.building).filter(uid=uid).first()
    if drum is None:
        raise Http404
    return drum_states(here.building, drum)[0]


def show(request: HttpRequest, here: Here, drum: UUID) -> HttpResponse:
    state = state_of(here, drum)
    return render(
        request,
        "pages/hatch.html",
        {"state": state, "site": state.drum.site, "picture": picture(state), "may_log": here.may("add", "drop-off")},
    )


def sign(request: HttpRequest, here: Here, drum: UUID) -> HttpResponse:
    """The sign to print and hang on the drum. It names no hatch: "the hatch with the tag" stays true."""
    state = state_of(here, drum)
    path = reverse("hatch", args=[here.building.uid, drum])
    address = settings.PUBLIC_URL + path if settings.PUBLIC_URL else request.build_absolute_uri(path)
    code = segno.make(address, error="m").svg_inline(scale=6, border=2, omitsize=True, svgclass="qr", lineclass=None)
    return render(
        request,
        "pages/sign.html",
        {
            "state": state,
            "site": state.drum.site,
            "address": address,
            "languages": _two_languages(request, here),
            # Made by the library from an address of ours: digits and path commands only.
            "code": mark_safe(code),  # noqa: S308
        },
    )


def _two_languages(request: HttpRequest, here: Here) -> tuple[str, str]:
    """The building's own language, and the one asked for, or the reader's, or the next one that there is."""
    codes = list(dict(settings.LANGUAGES))
    own = here.building.language if here.building.language in codes else settings.LANGUAGE_CODE
    wishes = (request.GET.get("second", ""), get_language() or "", *codes)
    return own, next(code for code in wishes if code in codes and code != own)
