"""Limits that a site has from its authority, and what was recorded in a period."""

from typing import Any

from django.http import Http404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.permits.limits import LimitState, LimitTold, limit_states, set_limit
from bins.records import Refused, as_mapping
from households.models import LedgerRow, Site

from ..access import Rule
from ..pages.permits import asked_log
from .base import BuildingView
from .permit_shapes import LimitIn, LimitOut, PeriodLogOut
from .shapes import Problem


def shape(state: LimitState, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "uid": state.row.uid,
        "site": state.row.site.uid,
        "what": state.row.what,
        "figure": state.figure,
        "used": state.used,
        "percent": state.percent,
        "is_near": state.is_near,
        "source": state.row.source,
        "dated": state.row.dated,
    }
    return {name: value for name, value in whole.items() if name in fields}


class Limits(BuildingView):
    rules = {"GET": Rule("see", "site-limit"), "POST": Rule("set", "site-limit")}

    @extend_schema(
        responses={200: LimitOut(many=True), 401: Problem, 404: Problem},
        description="The limits that hold, and how much of each is used.",
    )
    def get(self, request: Request) -> Response:
        return self._all()

    @extend_schema(
        request=LimitIn,
        responses={200: LimitOut(many=True), 401: Problem, 404: Problem, 422: Problem},
        description="Write a limit down; the newest for a site and kind holds. The answer is what holds now.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        told = LimitTold.from_raw(as_mapping(request.data))
        try:
            set_limit(building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.API, now=here.now)
        except Site.DoesNotExist:
            raise Http404 from None
        return self._all()

    def _all(self) -> Response:
        states = limit_states(self.here.building, self.here.now)
        return Response([shape(state, self.here.grant.fields) for state in states])


class Log(BuildingView):
    rules = {"GET": Rule("see", "period-log")}

    @extend_schema(
        parameters=[OpenApiParameter("first", str), OpenApiParameter("last", str)],
        responses={200: PeriodLogOut, 401: Problem, 404: Problem, 422: Problem},
        description="What was recorded from one day to another, the last 30 days if none are told: no household, "
        "no name, no free words.",
    )
    def get(self, request: Request) -> Response:
        found, errors = asked_log(self.here, request.query_params.dict())
        if errors:
            raise Refused(errors)
        lines = [
            {
                "at": line.at, "drum": line.drum, "hatch": line.hatch, "kind": str(line.kind),
                "detail": dict(line.detail), "is_correction": line.is_correction,
            }
            for line in found.lines
        ]  # fmt: skip
        whole = {"first": found.first, "last": found.last, "is_cut": found.is_cut, "lines": lines}
        return Response({name: value for name, value in whole.items() if name in self.here.grant.fields})
