"""The numbers that the rules go by at one site, and when its winter is."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from bins.decisions.gather import rules_of
from bins.decisions.site_numbers import RANGES, SiteNumbers, set_numbers
from bins.records import Refused
from households.models import Site

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
    errors: dict[str, str] = {}
    if request.method == "POST":
        values = request.POST.dict()
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
            "values": values,
            "errors": errors,
        },
        status=422 if errors else 200,
    )
