"""Drop-offs on somebody's behalf, and a resident's own correction."""

from collections.abc import Mapping
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.intake.correcting import correct_drop_off
from bins.intake.dropoff import DropOff
from bins.intake.proxy import OnBehalf, record_on_behalf, with_households
from bins.models import Drum
from bins.records import Refused, as_mapping
from households.models import LedgerRow

from ..access import Rule
from .base import BuildingView
from .dropoffs import OfHousehold, shape
from .entry_shapes import CorrectionIn, OnBehalfIn
from .shapes import DropOffOut, Problem


class OnBehalfOf(BuildingView):
    rules = {"POST": Rule("add", "on-behalf")}

    @extend_schema(
        request=OnBehalfIn,
        responses={200: DropOffOut(many=True), 401: Problem, 404: Problem, 422: Problem},
        description="Up to ten drop-offs of households, each with its uid and the day told: all go in or none. "
        "A fault is named with its line's number, as day-3. Lines that came before are answered as they stand.",
    )
    def post(self, request: Request) -> Response:
        body = as_mapping(request.data)
        lines = body.get("lines")
        if not isinstance(lines, list) or not all(isinstance(line, Mapping) for line in lines):
            raise Refused({"lines": _("From one to ten lines are needed.")})
        recorded = record_on_behalf(
            building=self.here.building,
            told=OnBehalf.from_raw(body.get("via"), with_households(self.here.building, lines)),
            person=self.here.actor.person,
            now=self.here.now,
        )
        return Response([shape(one.row, self.here.grant.fields) for one in recorded])


class Correct(OfHousehold):
    rules = {"POST": Rule("correct", "drop-off")}

    @extend_schema(
        request=CorrectionIn,
        responses={200: DropOffOut, 201: DropOffOut, 401: Problem, 404: Problem, 422: Problem},
        description="Take a drop-off back and write it down as it was, in one step, up to 14 days after it was "
        "written down. What isn't told again (its time, its pail) stays. The answer is the new row.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        row = self.one(uid)
        if row.reverses is not None:
            raise Http404
        raw = as_mapping(request.data)
        try:
            recorded = correct_drop_off(
                building=self.here.building,
                row=row,
                told=DropOff.from_raw({"drum": str(row.drum.uid), **raw}),
                person=self.here.actor.person,
                via=LedgerRow.Via.API,
                now=self.here.now,
            )
        except Drum.DoesNotExist:
            raise Refused({"drum": _("There is no such drum here.")}) from None
        return Response(shape(recorded.row, self.here.grant.fields), status=201 if recorded.is_new else 200)
