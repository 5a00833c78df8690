"""A drop-off as it should have been written: the old row is taken back and the new one stands, in one step."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.intake.correcting import correct_drop_off, may_correct
from bins.intake.dropoff import DropOff
from bins.models import Contribution, Drum
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from ..mix_words import halves
from ..words import pails
from .amounts import brought, typed_weight
from .dropoff import own_drop_off

PAIL_CHOICES = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 16)  # quarter pails; what was told before is among them
CUP_CHOICES = 12


def page(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    row = own_drop_off(here, uid)
    if request.method == "POST":
        return add(request, here, row)
    if not may_correct(row, here.now) or Contribution.objects.within(here.building).filter(reverses=row).exists():
        # An old page gone back to: the drop-off's own page says how it stands, "nothing here" would not.
        return HttpResponseRedirect(reverse("drop-off", args=[here.building.uid, row.uid]))
    values = {
        "uid": str(uuid4()),
        "drum": str(row.drum.uid),
        "quarter_pails": str(row.quarter_pails or ""),
        "kilograms": "" if row.quarter_pails else typed_weight(row.scraps_g, here.building),
        "browns_cups": f"{row.browns_half_cups / 2:g}",
        "known": row.known,
        "browns_in_pail": "yes" if row.browns_in_pail else "",
    }
    return _form(request, here, row, values, {}, 200)


def add(request: HttpRequest, here: Here, row: Contribution) -> HttpResponse:
    values = request.POST.dict()
    try:
        recorded = correct_drop_off(
            building=here.building,
            row=row,
            told=DropOff.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _form(request, here, row, values, refused.errors, 422)
    except Drum.DoesNotExist:
        return _form(request, here, row, values, {"drum": _("Which drum was it?")}, 422)
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _form(request, here, row, values, {"uid": kept}, 422)
    messages.success(request, _("Corrected. The record keeps both, and counts this one."))
    return HttpResponseRedirect(reverse("drop-off", args=[here.building.uid, recorded.row.uid]))


def _form(
    request: HttpRequest, here: Here, row: Contribution, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    drums = Drum.objects.within(here.building).select_related("site").order_by("site__name", "number")
    quarters = sorted({*PAIL_CHOICES, *([row.quarter_pails] if row.quarter_pails else [])})
    half_cups = sorted({*range(0, 2 * CUP_CHOICES + 1, 2), row.browns_half_cups})
    return render(
        request,
        "pages/correct.html",
        {
            "row": row,
            "was": brought(row, here.building),
            "values": values,
            "errors": errors,
            "drums": [(drum, str(drum.uid) == values.get("drum")) for drum in drums],
            "pail_choices": [(str(q), pails(q), str(q) == values.get("quarter_pails")) for q in quarters],
            "cup_choices": [(f"{n / 2:g}", halves(n), f"{n / 2:g}" == values.get("browns_cups")) for n in half_cups],
        },
        status=status,
    )
