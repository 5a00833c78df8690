"""The month: what went in and came out, how that is known, and the rows behind it."""

import datetime as dt

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.models import Contribution, MonthClosing
from bins.months.calendar import after, before
from bins.months.close import NotOver, close_month, closes_at, closing_of, restated
from bins.months.figures import Figures, month
from bins.months.rows import FIGURES, WITHHELD, Row, rows, rows_page
from households.cash_book import money_month
from households.models import Building, LedgerRow

from ..csv_out import csv_file
from ..doors import Here
from ..month_money import money_said
from ..words import KNOWN, MONTH_FIGURES
from .amounts import amount, in_table, volume, weight, yield_of
from .permits import near_limits


def now(request: HttpRequest, here: Here) -> HttpResponse:
    return HttpResponseRedirect(reverse("month", args=[here.building.uid, here.today.year, here.today.month]))


def show(request: HttpRequest, here: Here, year: int, number: int) -> HttpResponse:
    first_day = first_day_of(year, number)
    figures = month(here.building, first_day)
    closing = closing_of(here.building, first_day)
    return render(
        request,
        "pages/month.html",
        {
            "figures": figures,
            "scraps": weight(figures.scraps_g, here.building),
            "low": weight(figures.low_g, here.building),
            "high": weight(figures.high_g, here.building),
            "browns": volume(figures.browns_ml, here.building),
            "compost": volume(figures.compost_ml, here.building),
            "yields": [
                (one, volume(one.compost_ml, here.building), yield_of(one.ml_per_kg, here.building))
                for one in figures.yields
            ],
            "first_day": first_day,
            "all_scraps": in_table(figures.scraps_g, here.building),
            "kinds": [
                (KNOWN[known.known], known, figures.percent(known), in_table(known.scraps_g, here.building))
                for known in figures.by_known
            ],
            "before": before(first_day),
            "after": after(first_day) if after(first_day) <= here.today else None,
            "is_running": after(first_day) > here.today,
            "closing": closing,
            "closes_on": here.building.local(closes_at(here.building, first_day)).date(),
            "restated": _restated(closing, figures, here.building) if closing else [],
            "may_close": closing is None and after(first_day) <= here.today and here.may("close", "month"),
            "may_see_rows": here.may("see", "month-rows"),
            "money": money_said(money_month(here.building, first_day), figures, here.building),
            "may_see_money": here.may("see", "money"),
            "may_see_log": here.may("see", "period-log"),
            "near_limits": near_limits(here) if here.may("see", "site-limit") else [],
        },
    )


def rows_behind(request: HttpRequest, here: Here, year: int, number: int, figure: str) -> HttpResponse:
    """The rows that a figure is the sum of, some days at a time: day, amount, how known, how it came."""
    if figure not in FIGURES:
        raise Http404
    first_day = first_day_of(year, number)
    since = since_day(request.GET.get("since", ""), first_day)
    found = rows_page(here.building, first_day, figure, since)
    return render(
        request,
        "pages/month_rows.html",
        {
            "first_day": first_day,
            "name": figure,
            "figure": MONTH_FIGURES[figure],
            "rows": [
                (row, amount(row.amount, FIGURES[figure], here.building), _known(row, figure), _via(row))
                for row in found.rows
            ],
            "total": amount(found.total, FIGURES[figure], here.building),
            "since": since,
            "next_day": found.next_day,
        },
    )


def rows_csv(request: HttpRequest, here: Here, year: int, number: int, figure: str) -> HttpResponse:
    """All rows behind a figure as a file, with each amount as the books hold it."""
    if figure not in FIGURES:
        raise Http404
    first_day = first_day_of(year, number)
    unit = {"g": "g", "ml": "ml"}.get(FIGURES[figure], "")
    headings = (_("Day"), _("Up to"), _("Amount"), _("Unit"), _("How we know"), _("How it came"), _("Correction"))
    lines = [
        (row.day, row.until or row.day, row.amount, unit, _known(row, figure), _via(row), _yes(row))
        for row in rows(here.building, first_day, figure)
    ]
    return csv_file(f"{figure}-{year}-{number:02}.csv", [headings, *lines])


def since_day(text: str, first_day: dt.date) -> dt.date | None:
    """The day of the month that a page of rows begins with; None without one, 404 for another month's."""
    if not text:
        return None
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        raise Http404 from None
    if day.replace(day=1) != first_day:
        raise Http404
    return day


def close(request: HttpRequest, here: Here, year: int, number: int) -> HttpResponse:
    first_day = first_day_of(year, number)
    try:
        close_month(building=here.building, first_day=first_day, person=here.actor.person, now=here.now)
        messages.success(request, _("The month is closed. What is corrected later shows as a difference."))
    except NotOver:
        messages.warning(request, _("The month is not over. Nothing was closed."))
    return HttpResponseRedirect(reverse("month", args=[here.building.uid, year, number]))


def first_day_of(year: int, number: int) -> dt.date:
    """The first day of a month named in an address; 404 for what is no month."""
    if not (2000 <= year <= 2200 and 1 <= number <= 12):
        raise Http404
    return dt.date(year, number, 1)


def _known(row: Row, figure: str) -> str:
    """How a row is known, in the measure that it was counted in."""
    if row.known == WITHHELD:
        return _("withheld")
    if row.known == Contribution.Known.COUNTED and figure in ("browns", "compost"):
        return _("counted cups") if figure == "browns" else _("counted tubs")
    return str(KNOWN.get(row.known, ""))


def _via(row: Row) -> str:
    return _("withheld") if row.via == WITHHELD else str(LedgerRow.Via(row.via).label)


def _yes(row: Row) -> str:
    return _("correction") if row.is_correction else ""


def _restated(closing: MonthClosing, figures: Figures, building: Building) -> list[tuple[str, str, str]]:
    units = {"scraps_g": "g", "browns_ml": "ml", "compost_ml": "ml"}
    return [
        (
            str(MONTH_FIGURES[one.name]),
            amount(one.closed, units.get(one.name, ""), building),
            amount(one.now, units.get(one.name, ""), building),
        )
        for one in restated(closing, figures)
    ]
