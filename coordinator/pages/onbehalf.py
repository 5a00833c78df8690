"""Drop-offs on somebody's behalf, from a word, a slip or a sheet: up to ten lines at once."""

from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from bins.intake.proxy import FIELDS, MOST_LINES, OnBehalf, record_on_behalf, with_households
from bins.models import Drum
from bins.records import Refused
from households.ledger import UidReused
from households.models import Household

from ..doors import Here
from ..words import pails
from .people import door_order

PAIL_CHOICES = (1, 2, 3, 4, 6, 8, 12, 16)  # quarter pails


def page(request: HttpRequest, here: Here) -> HttpResponse:
    if request.method == "POST":
        return add(request, here)
    return _form(request, here, "proxy", [_empty(here) for _number in range(MOST_LINES)], {}, 200)


def add(request: HttpRequest, here: Here) -> HttpResponse:
    lines = [
        {name: request.POST.get(f"{name}-{number}", "") for name in ("uid", *FIELDS)}
        | {"units": request.POST.get("units", "")}
        for number in range(1, MOST_LINES + 1)
    ]
    filled = [(number, line) for number, line in enumerate(lines) if line["household"] or line["card"]]
    via = request.POST.get("via", "")
    try:
        recorded = record_on_behalf(
            building=here.building,
            told=OnBehalf.from_raw(via, with_households(here.building, [line for _number, line in filled])),
            person=here.actor.person,
            now=here.now,
        )
    except Refused as refused:
        return _form(request, here, via, lines, _on_the_page(refused.errors, [n for n, _line in filled]), 422)
    except UidReused:
        kept = _("These lines were sent before with other values. What was sent first was kept. Look before you send.")
        fresh = [line | {"uid": str(uuid4())} for line in lines]
        return _form(request, here, via, fresh, {"uid": kept}, 422)
    count = sum(one.is_new for one in recorded)
    messages.success(
        request, ngettext("%(n)s drop-off is written down.", "%(n)s drop-offs are written down.", count) % {"n": count}
    )
    return HttpResponseRedirect(reverse("on-behalf", args=[here.building.uid]))


def _on_the_page(errors: dict[str, str], numbers: list[int]) -> dict[str, str]:
    """Errors of the lines that were sent, by the line where they stand on the page, empty lines counted."""
    found = {}
    for name, text in errors.items():
        field, dash, number = name.rpartition("-")
        found[f"{field}-{numbers[int(number) - 1] + 1}" if dash else name] = text
    return found


def _empty(here: Here) -> dict[str, str]:
    return {"uid": str(uuid4()), "day": here.today.isoformat(), "quarter_pails": "4"}


def _form(
    request: HttpRequest, here: Here, via: str, lines: list[dict[str, str]], errors: dict[str, str], status: int
) -> HttpResponse:
    households = Household.objects.within(here.building).living_on(here.today)
    drums = list(Drum.objects.within(here.building).select_related("site").order_by("site__name", "number"))
    shown: list[dict[str, Any]] = []
    for number, line in enumerate(lines, start=1):
        mine = {name: text for name in FIELDS if (text := errors.get(f"{name}-{number}"))}
        told = bool(line.get("household") or line.get("card"))
        shown.append({"number": number, "values": line, "errors": mine, "is_open": number <= 1 or told})
    return render(
        request,
        "pages/on_behalf.html",
        {
            "lines": shown,
            "errors": errors,
            "via": via,
            "households": sorted(households, key=door_order),
            "drums": drums,
            "pail_choices": [(str(quarters), pails(quarters)) for quarters in PAIL_CHOICES],
        },
        status=status,
    )
