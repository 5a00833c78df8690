"""What the page frame shows on every page."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from households.models import Building

from .doors import Here


@dataclass(frozen=True)
class Door:
    url: str
    label: str
    is_here: bool


def _house_of(request: HttpRequest, here: Here) -> str:
    """Where the building's name in the head leads. Who has no home here stays among what is public, since home would
    be a sign-in wall: the drum whose sign was scanned, or the page for reports."""
    if here.may("see", "home"):
        return reverse("building", args=[here.building.uid])
    match = request.resolver_match
    drum = match.kwargs.get("drum") if match else None
    return reverse("hatch", args=[here.building.uid, drum]) if drum else reverse("report", args=[here.building.uid])


def frame(request: HttpRequest) -> dict[str, Any]:
    """The building, and the pages that this person may open in it. Makes no query."""
    here: Here | None = getattr(request, "here", None)
    if here is None:
        return {}
    pages = [
        ("building", _("Home"), "see", "home"),
        ("mine", _("Your times"), "see", "booking"),
        ("today", _("Today"), "see", "today"),
        ("share", _("Your share"), "see", "share"),
        ("harvests", _("Harvests"), "see", "harvest"),
        ("month-now", _("Month"), "see", "month"),
        ("money-now", _("Money"), "see", "money"),
        ("committee", _("Committee"), "answer", "committee-question"),
        ("people", _("People"), "see", "people"),
    ]
    return {
        "building": here.building,
        "building_url": _house_of(request, here),
        "here": here,
        "is_us": here.building.units == Building.Units.US,  # pounds and gallons, in forms as in sentences
        "doors": [
            Door(url, label, request.path.startswith(url) if name != "building" else request.path == url)
            for name, label, act, resource in pages
            if here.may(act, resource)
            for url in [reverse(name, args=[here.building.uid])]
        ],
    }
