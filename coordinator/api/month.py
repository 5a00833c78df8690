"""The month in figures."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.month import month

from ..access import Rule
from ..pages.month import first_day_of
from .base import BuildingView
from .shapes import MonthOut, Problem


class OneMonth(BuildingView):
    rules = {"GET": Rule("see", "month")}

    @extend_schema(responses={200: MonthOut, 401: Problem, 404: Problem})
    def get(self, request: Request, year: int, number: int) -> Response:
        figures = month(self.here.building, first_day_of(year, number))
        whole = {
            "month": figures.first_day,
            "scraps_g": figures.scraps_g,
            "by_known": [
                {"known": known.known, "scraps_g": known.scraps_g, "drop_offs": known.drop_offs}
                for known in figures.by_known
            ],
            "browns_ml": figures.browns_ml,
            "drop_offs": figures.drop_offs,
            "households": figures.households,
            "visits": figures.visits,
        }
        return Response({name: value for name, value in whole.items() if name in self.here.grant.fields})
