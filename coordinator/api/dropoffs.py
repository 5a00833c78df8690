"""A household's drop-offs: list, add once, take back."""

from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.intake.dropoff import DropOff, record_drop_off, undo_drop_off
from bins.models import Contribution, Drum
from bins.records import Reader, Refused, as_mapping
from households.models import LedgerRow

from ..access import Rule
from .base import BuildingView
from .shapes import DropOffIn, DropOffOut, DropOffPage, Problem

PAGE = 100


def shape(row: Contribution, fields: frozenset[str]) -> dict[str, Any]:
    """The fields of one drop-off that the caller may see."""
    whole = {
        "uid": row.uid,
        "happened_at": row.happened_at,
        "drum": row.drum.uid,
        "batch": row.batch.uid if row.batch else None,
        "quarter_pails": row.quarter_pails,
        "browns_cups": row.browns_cups,
        "browns_in_pail": row.browns_in_pail,
        "pail": row.pail.uid if row.pail else None,
        "scraps_g": row.scraps_g,
        "scraps_ml": row.scraps_ml,
        "browns_ml": row.browns_ml,
        "known": row.known,
        "via": row.via,
        "doubt": row.doubt,
        "reverses": row.reverses.uid if row.reverses else None,
        "place": row.place.uid if row.place else None,
    }
    return {name: value for name, value in whole.items() if name in fields}


class OfHousehold(BuildingView):
    def rows(self) -> Any:
        person = self.here.actor.person
        if person is None or person.household is None:
            raise Http404
        return (
            Contribution.objects.within(self.here.building)
            .filter(attribution__household=person.household)
            .select_related("drum", "batch", "reverses", "pail", "place")
        )

    def one(self, uid: UUID) -> Contribution:
        row: Contribution | None = self.rows().filter(uid=uid).first()
        if row is None:
            raise Http404
        return row


class DropOffs(OfHousehold):
    rules = {"GET": Rule("see", "drop-off"), "POST": Rule("add", "drop-off")}

    @extend_schema(
        operation_id="buildings_drop_offs_list",
        parameters=[OpenApiParameter("before", int, description="Only rows older than this number.")],
        responses={200: DropOffPage, 401: Problem, 404: Problem},
        description="Your household's drop-offs and reversals, newest first, 100 at a time.",
    )
    def get(self, request: Request) -> Response:
        reader = Reader(request.query_params)
        before = reader.whole("before", 1, 10**9)
        reader.finish()
        rows = self.rows().order_by("-ledger_number")
        if before is not None:
            rows = rows.filter(ledger_number__lt=before)
        page = list(rows[:PAGE])
        return Response(
            {
                "results": [shape(row, self.here.grant.fields) for row in page],
                "before": page[-1].ledger_number if len(page) == PAGE else None,
            }
        )

    @extend_schema(
        request=DropOffIn,
        responses={200: DropOffOut, 201: DropOffOut, 401: Problem, 404: Problem, 422: Problem},
        description="Add a drop-off of your household. 201 the first time, 200 for the same uid and values again.",
    )
    def post(self, request: Request) -> Response:
        person = self.here.actor.person
        assert person is not None  # the rule asks for a resident
        try:
            recorded = record_drop_off(
                building=self.here.building,
                told=DropOff.from_raw(as_mapping(request.data)),
                household=person.household,
                person=person,
                via=LedgerRow.Via.API,
                now=self.here.now,
            )
        except Drum.DoesNotExist:
            raise Refused({"drum": _("There is no such drum here.")}) from None
        return Response(shape(recorded.row, self.here.grant.fields), status=201 if recorded.is_new else 200)


class OneDropOff(OfHousehold):
    rules = {"GET": Rule("see", "drop-off")}

    @extend_schema(responses={200: DropOffOut, 401: Problem, 404: Problem})
    def get(self, request: Request, uid: UUID) -> Response:
        return Response(shape(self.one(uid), self.here.grant.fields))


class Undo(OfHousehold):
    rules = {"POST": Rule("undo", "drop-off")}

    @extend_schema(
        request=None,
        responses={200: DropOffOut, 401: Problem, 404: Problem},
        description="Take a drop-off back. The answer is the row that reverses it; doing so twice gives the same.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        row = self.one(uid)
        if row.reverses is not None:
            raise Http404
        reversal = undo_drop_off(
            building=self.here.building,
            row=row,
            person=self.here.actor.person,
            via=LedgerRow.Via.API,
            now=self.here.now,
        )
        return Response(shape(reversal, self.here.grant.fields))
