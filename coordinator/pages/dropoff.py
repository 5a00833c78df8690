"""Logging a pail: one form, three taps, the same answer when it is sent twice."""

from math import ceil
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.hatch import drum_states
from bins.intake.correcting import corrected_by, may_correct
from bins.intake.dropoff import MOST_CUPS, DropOff, of_household, record_drop_off, undo_drop_off
from bins.models import Assignment, Contribution, Drum, Pail
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from ..mix_words import cups as cups_of
from ..mix_words import halves
from ..picture import picture
from ..words import KNOWN, pails
from .amounts import brought, volume, weight

PAIL_CHOICES = (2, 4, 6, 8, 12)  # quarter pails: half a pail to three
RECENT = 3


def form(request: HttpRequest, here: Here) -> HttpResponse:
    """The empty form for the drum named in the address, or the household's own."""
    return _form(request, here, {"uid": str(uuid4()), "drum": request.GET.get("drum", "")}, {}, 200)


def add(request: HttpRequest, here: Here) -> HttpResponse:
    person = here.actor.person
    assert person is not None  # the rule asks for a resident
    try:
        recorded = record_drop_off(
            building=here.building,
            told=DropOff.from_raw(request.POST.dict()),
            household=person.household,
            person=person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _form(request, here, request.POST.dict(), refused.errors, 422)
    except Drum.DoesNotExist:
        return _form(request, here, request.POST.dict(), {"drum": _("Which drum was it?")}, 422)
    except UidReused:
        # Sent before with other values, from a page gone back to. What was kept first stays.
        fresh = request.POST.dict() | {"uid": str(uuid4())}
        kept = _(
            "This form was already sent with other values. The first drop-off was kept as it is. "
            "If this is another drop-off, send it now."
        )
        return _form(request, here, fresh, {"uid": kept}, 422)
    return HttpResponseRedirect(reverse("drop-off", args=[here.building.uid, recorded.row.uid]))


def show(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    row = own_drop_off(here, uid)
    reversal = Contribution.objects.within(here.building).filter(reverses=row).first()
    return render(
        request,
        "pages/dropoff_done.html",
        {
            "row": row,
            "is_undone": reversal is not None,
            "corrected": corrected_by(here.building, reversal) if reversal else None,
            "may_correct": may_correct(row, here.now),
            "brought": brought(row, here.building),
            "scraps": weight(row.scraps_g, here.building).replace(" ", "\N{NO-BREAK SPACE}"),
            "browns": volume(row.browns_ml, here.building),
            "cups": cups_of(row.browns_half_cups),
            "known": KNOWN[row.known],
        },
    )


def undo(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    row = own_drop_off(here, uid)
    undo_drop_off(building=here.building, row=row, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    messages.info(request, _("The drop-off was taken back. Nothing of it is counted."))
    return HttpResponseRedirect(reverse("building", args=[here.building.uid]))


def own_drop_off(here: Here, uid: UUID) -> Contribution:
    """A drop-off of the person's own household; 404 for any other."""
    person = here.actor.person
    rows = Contribution.objects.within(here.building).filter(uid=uid, reverses__isnull=True).select_related("drum")
    row: Contribution | None = (
        rows.filter(attribution__household=person.household).first() if person and person.household else None
    )
    if row is None:
        raise Http404
    return row


def _form(
    request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    person = here.actor.person
    states = drum_states(here.building)
    own = (
        Assignment.objects.within(here.building).filter(household=person.household).select_related("drum").first()
        if person and person.household
        else None
    )
    wanted = values.get("drum") or (str(own.drum.uid) if own else "")
    chosen = next((state for state in states if str(state.drum.uid) == wanted), states[0] if states else None)
    if chosen is None:
        raise Http404
    site = chosen.drum.site
    asked = site.half_cups_per_pail
    cups = str(values.get("browns_cups", f"{0 if site.browns_out_since else asked / 2:g}"))
    site_pails = list(Pail.objects.within(here.building).filter(site=site).order_by("number"))
    pail_uid = values.get("pail") or (str(site_pails[0].uid) if site_pails else "")
    recent = of_household(here.building, person.household)[:RECENT] if person and person.household else []
    return render(
        request,
        "pages/dropoff.html",
        {
            "states": states,
            "chosen": chosen,
            "site": site,
            "picture": picture(chosen),
            "values": values,
            "errors": errors,
            "pail_choices": [
                (str(quarters), pails(quarters), str(quarters) == values.get("quarter_pails", "4"))
                for quarters in PAIL_CHOICES
            ],
            "cup_choices": [
                (f"{half_cups / 2:g}", halves(half_cups), f"{half_cups / 2:g}" == cups)
                for half_cups in cup_choices(asked, cups)
            ],
            "pails": [
                (str(pail.uid), pail.name, volume(pail.millilitres, here.building), str(pail.uid) == pail_uid)
                for pail in site_pails
            ],
            "recent": [(row, brought(row, here.building)) for row in recent],
        },
        status=status,
    )


def cup_choices(asked: int, chosen: str) -> list[int]:
    """Half cups to choose from: none, what the sign asks for with each number of pails, and what was sent before.

    `asked`: half cups for a full pail; where the sign asks for none, as if it were one cup. Two rows on a phone, so
    that the button is near; any other number has its place in a correction.
    """
    found = {0, *(ceil(quarters * (asked or 2) / 4) for quarters in PAIL_CHOICES)}
    if chosen.replace(".", "", 1).isdigit() and float(chosen) * 2 <= 2 * MOST_CUPS:
        found.add(round(float(chosen) * 2))
    return sorted(found)


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add(request, here) if request.method == "POST" else form(request, here)
