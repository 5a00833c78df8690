"""What goes in and what stays out, for everybody; and the caretaker's form for the next version."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from bins.intake.accepting import Edition, change_list, lines_of, versions
from bins.models import AcceptedItem, AcceptedList, Drum
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow, Site

from ..doors import Here
from ..items import Told, told

NO_ERRORS: dict[str, str] = {}


def show(request: HttpRequest, here: Here, drum: UUID, version: int | None = None) -> HttpResponse:
    """The list in force at a drum's site, or an older one by its number."""
    found = Drum.objects.within(here.building).filter(uid=drum).select_related("site").first()
    if found is None:
        raise Http404
    every = list(versions(here.building, found.site))
    shown = next((one for one in every if one.version == version), None) if version else next(iter(every), None)
    if version and shown is None:
        raise Http404
    things = items_of(shown)
    return render(
        request,
        "pages/accepted.html",
        {
            "drum": found,
            "site": found.site,
            "shown": shown,
            "is_old": shown is not None and shown is not every[0],
            "versions": every,
            "names": pgettext("between the things of a list", ", ").join(
                str(one.name) for one in things if one.verdict == "yes"
            ),
            "groups": grouped(things),
            "may_set": here.may("set", "accepted"),
        },
    )


def items_of(version: AcceptedList | None) -> list[Told]:
    """The things of a version, or the usual ones, with words and picture."""
    return [told(line) for line in lines_of(version)]


def grouped(things: Iterable[Told]) -> list[tuple[str, list[Told]]]:
    """By verdict: what goes in, what to ask about, what stays out."""
    things = list(things)
    return [(verdict, [one for one in things if one.verdict == verdict]) for verdict in ("yes", "ask", "no")]


def edit(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    found = Site.objects.within(here.building).filter(uid=site).first()
    if found is None:
        raise Http404
    if request.method != "POST":
        return _form(request, here, found, {"uid": str(uuid4())}, NO_ERRORS)
    values = request.POST.dict()
    try:
        change_list(
            building=here.building,
            site=found,
            told=Edition.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _form(request, here, found, values, refused.errors)
    except UidReused:
        kept = _("This form was already sent with other values. That list was kept. Send it again to change it.")
        return _form(request, here, found, values | {"uid": str(uuid4())}, {"uid": kept})
    messages.success(request, _("This is the list from today on. Please print the signs again."))
    return HttpResponseRedirect(reverse("accepted-edit", args=[here.building.uid, site]))


def _form(request: HttpRequest, here: Here, site: Site, values: dict[str, Any], errors: dict[str, str]) -> HttpResponse:
    latest = versions(here.building, site).first()
    rows = []
    for one in items_of(latest):
        verdict = values.get(f"verdict-{one.key}", one.verdict)
        rows.append(
            {
                "item": one,
                "verdicts": [(code, label, code == verdict) for code, label in AcceptedItem.Verdict.choices],
                "note": values.get(f"note-{one.key}", one.note),
                "error": errors.get(f"note-{one.key}") or errors.get(f"verdict-{one.key}"),
            }
        )
    return render(
        request,
        "pages/accepted_edit.html",
        {
            "site": site,
            "latest": latest,
            "drum": Drum.objects.within(here.building).filter(site=site).order_by("number").first(),
            "rows": rows,
            "values": values,
            "errors": errors,
        },
        status=422 if errors else 200,
    )
