"""The month: what went in, in grams, and how that is known."""

import datetime as dt

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from bins.month import after, before, month

from ..doors import Here
from ..words import KNOWN
from .amounts import volume, weight


def now(request: HttpRequest, here: Here) -> HttpResponse:
    return HttpResponseRedirect(reverse("month", args=[here.building.uid, here.today.year, here.today.month]))


def show(request: HttpRequest, here: Here, year: int, number: int) -> HttpResponse:
    first_day = first_day_of(year, number)
    figures = month(here.building, first_day)
    return render(
        request,
        "pages/month.html",
        {
            "figures": figures,
            "first_day": first_day,
            "scraps": weight(figures.scraps_g, here.building),
            "browns": volume(figures.browns_ml, here.building),
            "kinds": [(KNOWN[known.known], known, figures.percent(known)) for known in figures.by_known],
            "before": before(first_day),
            "after": after(first_day) if after(first_day) <= here.today else None,
            "is_running": after(first_day) > here.today,
        },
    )


def first_day_of(year: int, number: int) -> dt.date:
    """The first day of a month named in an address; 404 for what is no month."""
    if not (2000 <= year <= 2200 and 1 <= number <= 12):
        raise Http404
    return dt.date(year, number, 1)
