"""Open reports for the caretaker: what to look at, and writing down what was done."""

import datetime as dt
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.cases.case_steps import Step, said, take_step
from bins.cases.cases import Promise, open_cases, promise, steps
from bins.models import Case, CaseNote, Drum
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow, Site

from ..doors import Here


@dataclass(frozen=True)
class CaseTask:
    """A report that waits: to be looked at within a day, and answered as promised."""

    case: Case
    kind: Any
    words: list[str]
    times: int
    due_at: dt.datetime
    is_late: bool


def case_tasks(here: Here) -> list[CaseTask]:
    """What the page Today shows of open reports; two queries however many there are."""
    tasks = []
    for case in open_cases(here.building):
        due_at = min(case.look_by, case.answer_by)
        tasks.append(
            CaseTask(
                case=case,
                kind=Case.Kind(case.kind).label,
                words=[report.words for report in case.reports.all() if report.words],
                times=len(case.reports.all()),
                due_at=due_at,
                is_late=case.first_action_at is None and due_at < here.now,
            )
        )
    return tasks


def page(request: HttpRequest, here: Here) -> HttpResponse:
    """Every open report, and what neighbours are promised."""
    if request.method != "POST":
        values = {"hours": here.building.report_answer_hours, "phone": here.building.contact_phone}
        return _list(request, here, values, {}, 200)
    try:
        promise(
            building=here.building, told=Promise.from_raw(request.POST.dict()), person=here.actor.person, now=here.now
        )
    except Refused as refused:
        return _list(request, here, request.POST.dict(), refused.errors, 422)
    messages.success(request, _("Neighbours read this from now on."))
    return HttpResponseRedirect(reverse("cases", args=[here.building.uid]))


def one(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    case = case_of(here, uid)
    return answer(request, here, case) if request.method == "POST" else _one(request, here, case, {}, {}, 200)


def answer(request: HttpRequest, here: Here, case: Case) -> HttpResponse:
    values = request.POST.dict()
    try:
        take_step(
            building=here.building,
            case_uid=case.uid,
            told=Step.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _one(request, here, case, values, refused.errors, 422)
    except Drum.DoesNotExist:
        return _one(request, here, case, values, {"drum": _("At which drum did you see it?")}, 422)
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _one(request, here, case, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    messages.success(request, _("Written down. The neighbour can read it."))
    return HttpResponseRedirect(reverse("case", args=[here.building.uid, case.uid]))


def case_of(here: Here, uid: UUID) -> Case:
    case: Case | None = Case.objects.within(here.building).filter(uid=uid).select_related("drum__site").first()
    if case is None:
        raise Http404
    return case


def _list(
    request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    return render(
        request, "pages/cases.html", {"cases": case_tasks(here), "values": values, "errors": errors}, status=status
    )


def _one(
    request: HttpRequest, here: Here, case: Case, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    drums = Drum.objects.within(here.building).select_related("site").order_by("site__name", "number")
    sites = [case.drum.site] if case.drum else Site.objects.within(here.building).order_by("name")
    return render(
        request,
        "pages/case.html",
        {
            "case": case,
            "kind": Case.Kind(case.kind).label,
            "reports": case.reports.order_by("heard_at", "pk"),
            "steps": [(note.counts_at, said(note), note.words) for note in steps(here.building, case)],
            "values": {"uid": str(uuid4())} | values,
            "errors": errors,
            "whats": [(value, label, value == values.get("what")) for value, label in CaseNote.What.choices],
            "drums": [] if case.drum else [(drum, str(drum.uid) == values.get("drum")) for drum in drums],
            "sites": sites,
        },
        status=status,
    )
