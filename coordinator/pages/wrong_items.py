"""A wrong item in a drum: what, how much, out or not. On a page of its own, and as a part of the visit form."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.hatch import DrumState
from bins.intake.wrong_items import DANGEROUS, Found, record_wrong_item
from bins.models import WrongItem
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from .hatch import state_of

FIELDS = ("wrong_item", "wrong_hatch", "wrong_millilitres", "wrong_taken_out")


def page(request: HttpRequest, here: Here, drum: UUID) -> HttpResponse:
    state = state_of(here, drum)
    if request.method != "POST":
        return _form(request, state, {"uid": str(uuid4())}, {})
    values = request.POST.dict() | {"drum": str(drum)}
    try:
        recorded = record_wrong_item(
            building=here.building,
            told=Found.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _form(request, state, values, refused.errors)
    except UidReused:
        kept = _("This form was already sent with other values. Those were kept. If you found more, send it now.")
        return _form(request, state, values | {"uid": str(uuid4())}, {"uid": kept})
    say(request, recorded.is_dangerous)
    return HttpResponseRedirect(reverse("today", args=[here.building.uid]))


def say(request: HttpRequest, is_dangerous: bool) -> None:
    if is_dangerous:
        messages.warning(
            request,
            _("The hatch is shut for now, and all pages say so. Never reach in by hand. Tell the super at once."),
        )
    else:
        messages.success(request, _("The wrong item is written down. No name stands with it."))


def of_visit(values: Mapping[str, Any]) -> Found | None:
    """The wrong item told in a visit form, bound to that visit; None where none was named.

    Call it before the visit is written, so that a fault keeps both back. Faults are named by the form's own
    fields. Raises Refused.
    """
    if not values.get("wrong_item"):
        return None
    raw = {name.removeprefix("wrong_"): values.get(name, "") for name in FIELDS}
    try:
        visit = UUID(str(values.get("uid", "")))
    except ValueError:
        return None  # the visit itself is refused for that
    raw |= {"uid": uuid5(visit, "wrong item"), "visit": visit}
    raw |= {name: values.get(name, "") for name in ("drum", "units")}
    try:
        return Found.from_raw(raw)
    except Refused as refused:
        raise Refused({f"wrong_{name}": text for name, text in refused.errors.items()}) from None


def choices(chosen: str = "") -> list[tuple[str, Any, bool]]:
    """The things one can choose, the dangerous ones last, for the part of the visit form."""
    return [(value, label, value == chosen) for value, label in WrongItem.Item.choices]


def _form(request: HttpRequest, state: DrumState, values: dict[str, Any], errors: dict[str, str]) -> HttpResponse:
    hatch = values.get("hatch") or (state.open.place.letter if state.open else "")
    if "item" in errors:
        errors = errors | {"item": _("Choose one from the list.")}  # nobody chooses by the codes that programs send
    return render(
        request,
        "pages/wrong_item.html",
        {
            "state": state,
            "site": state.drum.site,
            "values": values,
            "errors": errors,
            "items": [
                (value, label, value in DANGEROUS, value == values.get("item"))
                for value, label in WrongItem.Item.choices
            ],
            "hatches": [(one.place.letter, one.place.letter == hatch) for one in state.hatches],
        },
        status=422 if errors else 200,
    )
