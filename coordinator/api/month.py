"""The month in figures, the rows behind them, and closing it."""

from typing import Any

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.months.close import NotOver, close_month, closing_of, restated
from bins.months.figures import Figures, month
from bins.months.rows import FIGURES, rows_page
from bins.records import Refused

from ..access import Rule
from ..pages.month import first_day_of, since_day
from .base import BuildingView
from .shapes import MonthOut, MonthRowsOut, Problem

PLAIN = (
    "scraps_g", "low_g", "high_g", "browns_ml", "drop_offs", "households", "taking_part", "living_here", "visits",
    "turns", "compost_ml", "still_working", "reports", "wrong_items",
)  # fmt: skip


def plain_shape(figures: Figures) -> dict[str, Any]:
    """What a month, a quarter and a year have in common."""
    return {name: getattr(figures, name) for name in PLAIN} | {
        "by_known": [
            {
                "known": known.known,
                "scraps_g": None if known.is_withheld else known.scraps_g,
                "drop_offs": None if known.is_withheld else known.drop_offs,
            }
            for known in figures.by_known
        ],
        "yields": [
            {"day": one.day, "compost_ml": one.compost_ml, "ml_per_kg": one.ml_per_kg} for one in figures.yields
        ],
    }


class OfMonth(BuildingView):
    def shape(self, figures: Figures) -> dict[str, Any]:
        closing = closing_of(self.here.building, figures.first_day)
        whole: dict[str, Any] = plain_shape(figures) | {
            "month": figures.first_day,
            "closed_at": closing.closed_at if closing else None,
            "restated": [
                {"figure": one.name, "closed": one.closed, "now": one.now}
                for one in (restated(closing, figures) if closing else ())
            ],
        }
        return {name: value for name, value in whole.items() if name in self.here.grant.fields}


class OneMonth(OfMonth):
    rules = {"GET": Rule("see", "month")}

    @extend_schema(
        responses={200: MonthOut, 401: Problem, 404: Problem},
        description="A line that fewer than five households stand behind is null, and others with it, until five stand "
        "behind all that is null.",
    )
    def get(self, request: Request, year: int, number: int) -> Response:
        return Response(self.shape(month(self.here.building, first_day_of(year, number))))


class Close(OfMonth):
    rules = {"POST": Rule("close", "month")}

    @extend_schema(
        request=None,
        responses={200: MonthOut, 401: Problem, 404: Problem, 422: Problem},
        description="Close a month that is over. Closing twice changes nothing.",
    )
    def post(self, request: Request, year: int, number: int) -> Response:
        first_day = first_day_of(year, number)
        here = self.here
        try:
            close_month(building=here.building, first_day=first_day, person=here.actor.person, now=here.now)
        except NotOver:
            raise Refused({"month": _("The month is not over. Nothing was closed.")}) from None
        return Response(self.shape(month(here.building, first_day)))


class Rows(BuildingView):
    rules = {"GET": Rule("see", "month-rows")}

    @extend_schema(
        parameters=[OpenApiParameter("since", str, description="A day of the month: the page begins with it.")],
        responses={200: MonthRowsOut, 401: Problem, 404: Problem},
        description=(
            "The rows behind scraps (g), browns (ml), visits or compost (ml), whole days at a time: no household, no "
            "order in a day. `known` and `via` are `withheld` where few households stand behind them, and what the "
            "month withholds is put together from `day` to `until`, with five households or more behind it."
        ),
    )
    def get(self, request: Request, year: int, number: int, figure: str) -> Response:
        if figure not in FIGURES:
            raise Http404
        fields, first_day = self.here.grant.fields, first_day_of(year, number)
        since = since_day(request.query_params.get("since", ""), first_day)
        page = rows_page(self.here.building, first_day, figure, since)
        names = [name for name in ("day", "until", "amount", "known", "via", "is_correction") if name in fields]
        return Response(
            {
                "results": [{name: getattr(row, name) for name in names} for row in page.rows],
                "total": page.total,
                "since": page.next_day,
            }
        )
