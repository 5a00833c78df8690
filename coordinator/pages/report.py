"""A neighbour without an account reports something, and reads by its reference what became of it."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from bins.cases.case_steps import said
from bins.cases.cases import PleasePhone, Report, find, is_full, receive, steps
from bins.models import Case, Drum
from bins.records import Refused
from households.ledger import UidReused

from ..doors import Here


def page(request: HttpRequest, here: Here, drum: UUID | None = None) -> HttpResponse:
    """The form; the address on a drum names its drum."""
    if drum is not None and not Drum.objects.within(here.building).filter(uid=drum).exists():
        raise Http404
    if request.method == "POST":
        return add(request, here)
    if reference := request.GET.get("reference", "").strip():
        return _go_to(request, here, reference)
    return _form(request, here, {"uid": str(uuid4()), "drum": str(drum or "")}, {}, 200)


def add(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        received = receive(
            building=here.building, told=Report.from_raw(values), language=get_language() or "en", now=here.now
        )
    except Refused as refused:
        return _form(request, here, values, refused.errors, 422)
    except Drum.DoesNotExist:
        return _form(request, here, values, {"drum": _("Which drum was it?")}, 422)
    except UidReused:
        kept = _(
            "This form was already sent with other values. The first report was kept. To report more, send it now."
        )
        return _form(request, here, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    except PleasePhone:
        return _form(request, here, values, {}, 429)
    if received.joined:
        messages.success(request, _("Somebody told us of the same before you. This is the reference of both reports."))
    else:
        messages.success(request, _("Thank you. Keep the reference: with it you can read here what was done."))
    return HttpResponseRedirect(reverse("report-status", args=[here.building.uid, received.case.reference]))


def status(request: HttpRequest, here: Here, reference: str) -> HttpResponse:
    case = find(here.building, reference)
    if case is None:
        raise Http404
    return render(
        request,
        "pages/report_status.html",
        {
            "case": case,
            "kind": Case.Kind(case.kind).label,
            "steps": [(note.counts_at, said(note), note.words) for note in steps(here.building, case)],
            "is_late": case.first_action_at is None and case.answer_by < here.now,
        },
    )


def _go_to(request: HttpRequest, here: Here, reference: str) -> HttpResponse:
    """To the report of a reference; one that was mistyped is shown again in its field."""
    case = find(here.building, reference)
    if case is None:
        errors = {"reference": _("There is no report with this reference. Look at each letter and digit.")}
        return _form(request, here, {"uid": str(uuid4()), "reference": reference}, errors, 404)
    return HttpResponseRedirect(reverse("report-status", args=[here.building.uid, case.reference]))


def _form(
    request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    drums = Drum.objects.within(here.building).select_related("site").order_by("site__name", "number")
    return render(
        request,
        "pages/report.html",
        {
            "values": values,
            "errors": errors,
            "kinds": [(value, label, value == values.get("kind")) for value, label in Case.Kind.choices],
            "drums": [(drum, str(drum.uid) == values.get("drum")) for drum in drums],
            "must_phone": status == 429 or is_full(here.building, here.now),
        },
        status=status,
    )
