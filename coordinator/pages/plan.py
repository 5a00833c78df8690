"""One page for a household: when it is away, how often it comes, what it likes and cannot."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from bins.records import Refused
from bins.slots.absences import Away, absences_of, note_absence, withdraw_absence
from bins.slots.wishes import OFTEN, PREFIX, Wishes, set_wishes, wishes_of
from households.ledger import UidReused
from households.models import Absence, DutyKind, Household, Slot, Wish

from ..doors import Here
from ..slot_words import days, hours

HOW_OFTEN = {
    8: gettext_lazy("several times a week"),
    4: gettext_lazy("about once a week"),
    2: gettext_lazy("about every other week"),
    1: gettext_lazy("about once a month"),
}
NO_ERRORS: dict[str, str] = {}


def page(request: HttpRequest, here: Here) -> HttpResponse:
    if request.method != "POST":
        return _page(request, here, {}, NO_ERRORS, {}, NO_ERRORS)
    values = request.POST.dict()
    try:
        told = Wishes.from_raw(values)
        set_wishes(building=here.building, household=household_of(here), told=told, now=here.now)
    except Refused as refused:
        return _page(request, here, {}, NO_ERRORS, values, refused.errors)
    messages.success(request, _("Kept. The next plan goes by it."))
    return HttpResponseRedirect(reverse("plan", args=[here.building.uid]))


def away(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    try:
        told = Away.from_raw(values)
        noted = note_absence(building=here.building, household=household_of(here), told=told, now=here.now)
    except Refused as refused:
        return _page(request, here, values, refused.errors, {}, NO_ERRORS)
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": kept}, {}, NO_ERRORS)
    said = _("Written down. Nobody will plan you in on those days.")
    if noted.freed:
        freed = ngettext(
            "%(n)s time of yours is free for others now.", "%(n)s times of yours are free for others now.", noted.freed
        )
        said = f"{said} {freed % {'n': noted.freed}}"
    messages.success(request, said)
    return HttpResponseRedirect(reverse("plan", args=[here.building.uid]))


def back(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    withdraw_absence(building=here.building, row=own_absence(here, uid))
    messages.success(request, _("Taken back. You are here on those days."))
    return HttpResponseRedirect(reverse("plan", args=[here.building.uid]))


def household_of(here: Here) -> Household:
    """The person's own household; 404 for somebody without one."""
    person = here.actor.person
    if person is None or person.household is None:
        raise Http404
    return person.household


def own_absence(here: Here, uid: UUID) -> Absence:
    row: Absence | None = Absence.objects.within(here.building).filter(uid=uid, household=household_of(here)).first()
    if row is None:
        raise Http404
    return row


def _page(
    request: HttpRequest, here: Here, absence: dict[str, Any], away_errors: dict[str, str], values: dict[str, Any],
    errors: dict[str, str],
) -> HttpResponse:  # fmt: skip
    household = household_of(here)
    often = str(values.get("visits_in_four_weeks", household.visits_in_four_weeks or ""))
    rows = []
    for asked in wishes_of(here.building, household, here.today):
        name = f"{PREFIX}{asked.thing.uid}"
        answer = values.get(name, asked.answer)
        rows.append(
            {
                "name": name,
                "what": _what(asked.thing),
                "site": asked.thing.site.name,
                "answers": [(code, label, code == answer) for code, label in Wish.Answer.choices],
                "error": errors.get(name, ""),
            }
        )
    return render(
        request,
        "pages/plan.html",
        {
            "absences": absences_of(here.building, household, here.today),
            "values": {"uid": str(uuid4())} | absence,
            "away_errors": away_errors,
            "often": [(str(times), HOW_OFTEN[times], str(times) == often) for times in OFTEN],
            "often_error": errors.get("visits_in_four_weeks", ""),
            "rows": rows,
            "errors": errors,
            "today": here.today,
        },
        status=422 if errors or away_errors else 200,
    )


def _what(thing: Slot | DutyKind) -> str:
    if isinstance(thing, Slot):
        return _("%(days)s, %(hours)s") % {"days": days(thing), "hours": hours(thing)}
    return _("Duty: %(work)s") % {"work": DutyKind.Work(thing.work).label}
