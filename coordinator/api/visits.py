"""Care visits, and a resident's turning: add once."""

from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.care.visit import CareVisit, Recorded, record_visit
from bins.models import Drum, Reading, Visit
from bins.records import Refused, as_mapping
from households.models import LedgerRow

from ..access import Rule
from .base import BuildingView
from .shapes import Problem, TurningIn, VisitIn, VisitOut


class Adding(BuildingView):
    def add(self, told: CareVisit) -> Response:
        here = self.here
        try:
            recorded = record_visit(
                building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.API, now=here.now
            )
        except Drum.DoesNotExist:
            raise Refused({"drum": _("There is no such drum here.")}) from None
        return self._answer(recorded)

    def _answer(self, recorded: Recorded) -> Response:
        whole = _shape(recorded.row)
        return Response(
            {name: value for name, value in whole.items() if name in self.here.grant.fields},
            status=201 if recorded.is_new else 200,
        )


def _shape(row: Visit) -> dict[str, Any]:
    readings = list(Reading.objects.within(row.building).filter(visit=row).select_related("batch").order_by("pk"))
    return {
        "uid": row.uid,
        "happened_at": row.happened_at,
        "drum": row.drum.uid,
        "turned": row.turned,
        "turned_place": row.turned_place.uid if row.turned_place else None,
        "trouble": row.trouble,
        "level_percent": next((one.value for one in readings if one.kind == Reading.Kind.LEVEL_PERCENT), None),
        "readings": [{"batch": one.batch.uid, "kind": one.kind, "value": one.value} for one in readings],
        "via": row.via,
        "doubt": row.doubt,
    }


class Visits(Adding):
    rules = {"POST": Rule("add", "visit")}

    @extend_schema(
        request=VisitIn,
        responses={200: VisitOut, 201: VisitOut, 401: Problem, 404: Problem, 422: Problem},
        description="Add a care visit. 201 the first time, 200 for the same uid and values again.",
    )
    def post(self, request: Request) -> Response:
        return self.add(CareVisit.from_raw(as_mapping(request.data)))


class Turnings(Adding):
    rules = {"POST": Rule("add", "turning")}

    @extend_schema(
        request=TurningIn,
        responses={200: VisitOut, 201: VisitOut, 401: Problem, 404: Problem, 422: Problem},
        description="A resident gave a drum its turns. Whatever else is sent is left aside.",
    )
    def post(self, request: Request) -> Response:
        raw = as_mapping(request.data)
        kept = {name: raw[name] for name in ("uid", "drum", "happened_at", "turned_place") if name in raw}
        return self.add(CareVisit.from_raw(kept | {"turned": "yes"}))
