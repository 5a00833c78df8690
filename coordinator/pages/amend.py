"""Writing down what was added to a lot: browns or water, in the litres really added."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.mixing.amending import Added, amend
from bins.models import Batch
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow, Site

from ..doors import Here


def page(request: HttpRequest, here: Here, batch: UUID) -> HttpResponse:
    found = Batch.objects.within(here.building).live().filter(uid=batch).select_related("drum__site", "place").first()
    if found is None:
        raise Http404
    if request.method != "POST":
        return _form(request, found, {"uid": str(uuid4())}, {})
    values = request.POST.dict() | {"batch": str(batch)}
    try:
        amend(
            building=here.building,
            told=Added.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _form(request, found, values, refused.errors)
    except UidReused:
        kept = _("This form was already sent with other values. Those were kept. If you added more, send it now.")
        return _form(request, found, values | {"uid": str(uuid4())}, {"uid": kept})
    messages.success(request, _("Written down. It counts in this lot's mix from now on."))
    return HttpResponseRedirect(reverse("today", args=[here.building.uid]))


def _form(request: HttpRequest, batch: Batch, values: dict[str, Any], errors: dict[str, str]) -> HttpResponse:
    chosen = values.get("browns") or batch.drum.site.browns
    return render(
        request,
        "pages/amend.html",
        {
            "batch": batch,
            "values": values,
            "errors": errors,
            "kinds": [(value, label, value == chosen) for value, label in Site.Browns.choices],
        },
        status=422 if errors else 200,
    )
