"""A month, a quarter or a year in figures: the same ones as on the page of the report."""

from typing import Any

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from ..access import Rule
from ..reports.document import FEWEST
from ..reports.report import KINDS, Report, period_of, report_of
from .base import BuildingView
from .month import plain_shape
from .shapes import PeriodOut, Problem


def period_shape(span: str, report: Report) -> dict[str, Any]:
    figures, days = report.figures, report.open_days
    hours = figures.hours_per_100_kg
    return plain_shape(figures) | {
        "span": span,
        "first_day": report.period.first_day,
        "last_day": report.period.last_day,
        "is_running": report.is_running,
        "carers": None if 0 < figures.carers < FEWEST else figures.carers,
        "compost_ml_per_kg": figures.compost_ml_per_kg,
        "shrunk_percent": figures.shrunk_percent,
        "shares_fetched_percent": figures.collected_percent,
        "wrong_visits": figures.wrong_visits,
        "wrong_g_per_100_kg": figures.wrong_g_per_100_kg,
        "hours_per_100_kg": None if hours is None else round(hours, 2),
        "days": days.days if days else None,
        "open_days": days.open if days else None,
        "days_with_browns": days.with_browns if days else None,
        "co2e_g": round(report.emission.co2e_g) if report.emission else None,
    }


class OnePeriod(BuildingView):
    rules = {"GET": Rule("see", "period")}

    @extend_schema(
        responses={200: PeriodOut, 401: Problem, 404: Problem},
        description="`span`: month (1 to 12), quarter (1 to 4), year (1). A line that fewer than five households stand "
        "behind is null, with more until five stand behind all that is null; of a quarter or a year also every line "
        "that one of its months withholds. Money stands apart, by month.",
    )
    def get(self, request: Request, span: str, year: int, number: int) -> Response:
        here = self.here
        if span not in KINDS:
            raise Http404
        try:
            period = period_of(span, year, number)
        except ValueError:
            raise Http404 from None
        shape = period_shape(span, report_of(here.building, period, here.today, with_money=False))
        return Response({name: value for name, value in shape.items() if name in here.grant.fields})
