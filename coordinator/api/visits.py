"""Care visits: add once."""

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.models import Drum, Reading
from bins.records import Refused, as_mapping
from bins.visit import CareVisit, record_visit
from households.models import LedgerRow

from ..access import Rule
from .base import BuildingView
from .shapes import Problem, VisitIn, VisitOut


class Visits(BuildingView):
    rules = {"POST": Rule("add", "visit")}

    @extend_schema(
        request=VisitIn,
        responses={200: VisitOut, 201: VisitOut, 401: Problem, 404: Problem, 422: Problem},
        description="Add a care visit. 201 the first time, 200 for the same uid and values again.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        try:
            recorded = record_visit(
                building=here.building,
                told=CareVisit.from_raw(as_mapping(request.data)),
                person=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except Drum.DoesNotExist:
            raise Refused({"drum": _("There is no such drum here.")}) from None
        row = recorded.row
        level = Reading.objects.within(here.building).filter(visit=row, kind=Reading.Kind.LEVEL_PERCENT).first()
        whole = {
            "uid": row.uid,
            "happened_at": row.happened_at,
            "drum": row.drum.uid,
            "turned": row.turned,
            "trouble": row.trouble,
            "level_percent": level.value if level else None,
            "via": row.via,
            "doubt": row.doubt,
        }
        return Response(
            {name: value for name, value in whole.items() if name in here.grant.fields},
            status=201 if recorded.is_new else 200,
        )
