"""A month, a quarter or a year with what each figure means: on the page, as PDF and as CSV."""

from decimal import Decimal

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.months.calendar import Period
from households.greenhouse import set_greenhouse
from households.models import Building

from ..csv_out import csv_file
from ..doors import Here
from ..reports.document import Document, document
from ..reports.pdf import PAPERS, pdf
from ..reports.report import KINDS, period_of, report_of


def show(request: HttpRequest, here: Here, span: str, year: int, number: int) -> HttpResponse:
    period = _period(span, year, number)
    first_day = period.first_day
    return render(
        request,
        "pages/period.html",
        {
            "document": _document(here, period),
            "span": span,
            "year": year,
            "number": number,
            "is_month": period.months == 1,
            "choices": Building.Greenhouse.choices if here.may("set", "greenhouse") else (),
            "may_export": here.may("see", "export"),
            "before": period.previous,
            "after": period.next if period.after <= here.today else None,
            "quarter": (first_day.month + 2) // 3,
            "month": first_day.month,
        },
    )


def greenhouse(request: HttpRequest, here: Here) -> HttpResponse:
    """Whether reports show what composting gives off."""
    try:
        choice = request.POST.get("greenhouse", "")
        set_greenhouse(building=here.building, choice=choice, person=here.actor.person, now=here.now)
        messages.success(request, _("Kept. Every report shows it like this from now on."))
    except ValueError:
        messages.warning(request, _("Choose one of the three."))
    return HttpResponseRedirect(reverse("report-page", args=[here.building.uid, "year", here.today.year, 1]))


def as_pdf(request: HttpRequest, here: Here, span: str, year: int, number: int, paper: str) -> HttpResponse:
    if paper not in PAPERS:
        raise Http404
    made = pdf(_document(here, _period(span, year, number)), paper)
    return HttpResponse(
        made,
        content_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{span}-{year}-{number:02}.pdf"'},
    )


def as_csv(request: HttpRequest, here: Here, span: str, year: int, number: int) -> HttpResponse:
    """The same lines, with each number as the books hold it."""
    told = _document(here, _period(span, year, number))
    headings = (_("Part"), told.headings[0], _("Number"), _("Unit"), told.headings[1], told.headings[2])
    rows = [
        (section.title, line.label, Decimal(line.number) if line.number else "", line.unit, line.shown, line.meaning)
        for section in told.sections
        for line in section.lines
    ]
    return csv_file(f"{span}-{year}-{number:02}.csv", [headings, *rows])


def _period(span: str, year: int, number: int) -> Period:
    """404 for what is no month, quarter or year."""
    if span not in KINDS:
        raise Http404
    try:
        return period_of(span, year, number)
    except ValueError:
        raise Http404 from None


def _document(here: Here, period: Period) -> Document:
    return document(report_of(here.building, period, here.today, with_money=here.may("see", "money")))
