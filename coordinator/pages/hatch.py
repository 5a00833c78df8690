"""The address on a drum's sign: which hatch, for whoever stands before it. No account needed."""

from uuid import UUID, uuid4

import segno
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from bins.care.visit import CareVisit, record_visit
from bins.care.winter_room import winter_room
from bins.duties.attending import pause_of
from bins.hatch import DrumState, drum_states
from bins.intake.accepting import versions
from bins.models import Drum
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from ..forecast_words import next_ready_line
from ..picture import picture
from ..reports.pdf import PAPERS, pdf
from ..reports.sign import sign_of
from .accepted import grouped, items_of
from .paper import languages_of


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
        {
            "state": state,
            "site": state.drum.site,
            "picture": picture(state),
            "may_log": here.may("add", "drop-off"),
            "may_turn": here.may("add", "turning") and state.drum.state != Drum.State.OUT_OF_SERVICE,
            "uid": uuid4(),
            "room": winter_room(here.building, state.drum, here.now),
            "pause": pause_of(here.building, state.drum.site),
            "ready_line": next_ready_line(here.building, state.drum, here.today)
            if here.may("see", "ready-range")
            else "",
        },
    )


def turned(request: HttpRequest, here: Here, drum: UUID) -> HttpResponse:
    """A resident's "I gave it 5 turns": a visit that says no more than that."""
    state_of(here, drum)
    try:
        sent = {name: request.POST.get(name, "") for name in ("uid", "turned_place")}
        told = CareVisit.from_raw(sent | {"drum": str(drum), "turned": "yes"})
        record_visit(building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except (Refused, UidReused):
        messages.error(request, _("Nothing new was written down. Please press the button on this page again."))
    else:
        messages.success(request, _("Thank you. The turning is written down."))
    return HttpResponseRedirect(reverse("hatch", args=[here.building.uid, drum]))


def sign(request: HttpRequest, here: Here, drum: UUID) -> HttpResponse:
    """The sign to print and hang on the drum. It names no hatch: "the hatch with the tag" stays true."""
    state = state_of(here, drum)
    address = _address(request, here, drum)
    code = segno.make(address, error="m").svg_inline(scale=6, border=2, omitsize=True, svgclass="qr", lineclass=None)
    return render(
        request,
        "pages/sign.html",
        {
            "state": state,
            "site": state.drum.site,
            "address": address,
            "languages": languages_of(here.building, request.GET.get("second")),
            "groups": grouped(items_of(versions(here.building, state.drum.site).first())),
            # Made by the library from an address of ours: digits and path commands only.
            "code": mark_safe(code),  # noqa: S308
        },
    )


def sign_as_pdf(request: HttpRequest, here: Here, drum: UUID, paper: str) -> HttpResponse:
    """The same sign as one tagged sheet, for whoever prints without a browser."""
    if paper not in PAPERS:
        raise Http404
    found = Drum.objects.within(here.building).filter(uid=drum).select_related("site", "building").first()
    if found is None:
        raise Http404
    groups = grouped(items_of(versions(here.building, found.site).first()))
    languages = languages_of(here.building, request.GET.get("second"))
    made = pdf(sign_of(found, _address(request, here, drum), languages, groups), paper)
    name = f"sign-{found.number}.pdf"
    return HttpResponse(
        made, content_type="application/pdf", headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


def _address(request: HttpRequest, here: Here, drum: UUID) -> str:
    path = reverse("hatch", args=[here.building.uid, drum])
    return settings.PUBLIC_URL + path if settings.PUBLIC_URL else request.build_absolute_uri(path)
