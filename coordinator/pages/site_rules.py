"""The numbers that the rules go by at one site, and when its winter is."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.dates import MONTHS as MONTH_NAMES
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from bins.decisions.gather import rules_of
from bins.decisions.site_numbers import MONTHS, RANGES, SiteNumbers, set_numbers
from bins.records import Refused
from households.models import Building, Site

from ..doors import Here

LABELS = {
    "close_mark_percent": gettext_lazy("A hatch closes when it is this full, in percent"),
    "longest_fill_days": gettext_lazy("The longest time a hatch stays open, in days"),
    "composting_days": gettext_lazy("Days to work, if nobody measures"),
    "curing_days": gettext_lazy("Days to rest"),
    "turn_open_days": gettext_lazy("Turn an open drum every so many days"),
    "turn_resting_days": gettext_lazy("Turn a drum that takes nothing every so many days"),
}


def page(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    site = Site.objects.within(here.building).filter(uid=uid).select_related("rules").first()
    if site is None:
        raise Http404
    rules = rules_of(site)
    values = {name: str(getattr(rules, name)) for name in (*RANGES, "winter_first", "spring_first")}
    is_us = here.building.units == Building.Units.US
    values |= _air(rules.air_tenths_c, is_us)
    errors: dict[str, str] = {}
    if request.method == "POST":
        values = request.POST.dict() | {"temperature_unit": "f" if is_us else "c"}
        try:
            told = SiteNumbers.from_raw(values)
        except Refused as refused:
            errors = refused.errors
        else:
            set_numbers(building=here.building, site_uid=uid, told=told, person=here.actor.person, now=here.now)
            messages.success(request, _("Kept. The rules go by these numbers from the next night on."))
            return HttpResponseRedirect(reverse("site-rules", args=[here.building.uid, uid]))
    return render(
        request,
        "pages/site_rules.html",
        {
            "site": site,
            "numbers": [
                (name, LABELS[name], least, most, values.get(name, ""), errors.get(name, ""))
                for name, (least, most) in RANGES.items()
            ],
            "months": [
                (name, MONTH_NAMES[at], values.get(name, ""), errors.get(name, "")) for at, name in enumerate(MONTHS, 1)
            ],
            "values": values,
            "errors": errors,
        },
        status=422 if errors else 200,
    )


def _air(tenths_c: list[int] | None, is_us: bool) -> dict[str, str]:
    """The usual air as the form has it, in the building's own degrees; nothing where none was told."""
    if tenths_c is None:
        return {}
    shown = [f"{tenths * 0.18 + 32:.1f}" if is_us else f"{tenths / 10:.1f}" for tenths in tenths_c]
    return dict(zip(MONTHS, shown, strict=True)) | {"room": shown[0]}
