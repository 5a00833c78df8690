"""Paper: the sheet at a drum for people without a phone, and the week's list of whoever cares for the drums."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from bins.care.due import work_due
from bins.hatch import drum_states
from bins.models import Decision
from bins.process.proposal import Rule
from households.cards import OLD_CARDS_LAST, cancelled_cards
from households.models import Site

from ..doors import Here
from ..reports.pdf import PAPERS, pdf
from ..reports.week import week_of
from ..trouble_words import shown
from ..words import STAGES, why
from .hatch import state_of
from .paper import languages_of
from .today import chores, tag_first

LOG_ROWS = range(17)  # chosen: what fits on Letter, the shorter of the two papers
WEEK = range(7)


def index(request: HttpRequest, here: Here) -> HttpResponse:
    """Everything there is to print."""
    return render(request, "pages/sheets.html", {"states": drum_states(here.building)})


def log(request: HttpRequest, here: Here, drum: UUID) -> HttpResponse:
    """Ruled rows to hang at a drum: day, card, pails, cups. No names."""
    state = state_of(here, drum)
    return render(
        request,
        "pages/sheet_log.html",
        {"state": state, "site": state.drum.site, "rows": LOG_ROWS, "languages": languages_of(here.building)},
    )


def week(request: HttpRequest, here: Here) -> HttpResponse:
    """What each drum needs this week, with boxes to tick and days to share among people."""
    return render(request, "pages/sheet_week.html", _week(here))


def week_as_pdf(request: HttpRequest, here: Here, paper: str) -> HttpResponse:
    """The same list as tagged pages."""
    if paper not in PAPERS:
        raise Http404
    return HttpResponse(
        pdf(week_of(here.building, _week(here)), paper),
        content_type="application/pdf",
        headers={"Content-Disposition": 'attachment; filename="week.pdf"'},
    )


def _week(here: Here) -> dict[str, Any]:
    states = drum_states(here.building)
    work = work_due(here.building, here.now)
    decisions = (
        Decision.objects.within(here.building)
        .proposed()
        .select_related("batch__drum__site", "batch__place", "next_place")
        .order_by("made_at", "pk")
    )
    monday = here.today - dt.timedelta(days=here.today.weekday())
    return {
        "monday": monday,
        "days": [monday + dt.timedelta(days=day) for day in WEEK],
        "drums": [(state, [(hatch.place.letter, STAGES[hatch.stage]) for hatch in state.hatches]) for state in states],
        "sites": _once([state.drum.site for state in states]),
        "tasks": [
            {
                "decision": decision,
                "why": why(decision),
                "moves_tag": decision.rule == Rule.CLOSE and decision.next_place is not None,
                "shuts_site": decision.rule == Rule.CLOSE and decision.next_place is None,
                "trouble": shown(decision, here.building),
            }
            for decision in tag_first(decisions)
        ],
        "chores": chores([{"state": state, "work": work[state.drum.uid]} for state in states]),
        "cancelled": [card.number for card in cancelled_cards(here.building, here.today - OLD_CARDS_LAST)],
    }


def _once(sites: list[Site]) -> list[Site]:
    return list({site.pk: site for site in sites}.values())
