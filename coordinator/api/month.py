"""The month in figures, the rows behind them, and closing it."""

from typing import Any

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.months.close import NotOver, close_month, closing_of, restated
from bins.months.figures import Figures, month
from bins.months.rows import FIGURES, rows
from bins.records import Refused

from ..access import Rule
from ..pages.month import first_day_of
from .base import BuildingView
from .shapes import MonthOut, MonthRowOut, Problem

PLAIN = (
    "scraps_g", "low_g", "high_g", "browns_ml", "drop_offs", "households", "taking_part", "living_here", "visits",
    "turns", "compost_ml", "still_working", "reports", "wrong_items",
)  # fmt: skip


class OfMonth(BuildingView):
    def shape(self, figures: Figures) -> dict[str, Any]:
        closing = closing_of(self.here.building, figures.first_day)
        whole: dict[str, Any] = {name: getattr(figures, name) for name in PLAIN} | {
            "month": figures.first_day,
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
        description="A line that fewer than five households stand behind is null, and one more with it.",
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
        responses={200: MonthRowOut(many=True), 401: Problem, 404: Problem},
        description=(
            "The rows behind scraps (g), browns (ml), visits or compost (ml): no household, no order in a day. "
            "`known` is `withheld` where the month withholds that line."
        ),
    )
    def get(self, request: Request, year: int, number: int, figure: str) -> Response:
        if figure not in FIGURES:
            raise Http404
        fields = self.here.grant.fields
        return Response(
            [
                {
                    name: getattr(row, name)
                    for name in ("day", "amount", "known", "via", "is_correction")
                    if name in fields
                }
                for row in rows(self.here.building, first_day_of(year, number), figure)
            ]
        )
