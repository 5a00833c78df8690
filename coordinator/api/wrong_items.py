"""Wrong items found in a drum: add once. A dangerous one shuts the hatch."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.intake.wrong_items import Found, record_wrong_item
from bins.records import as_mapping
from households.models import LedgerRow

from ..access import Rule
from .base import BuildingView
from .mix_shapes import WrongItemIn, WrongItemOut
from .shapes import Problem


class WrongItems(BuildingView):
    rules = {"POST": Rule("add", "wrong-item")}

    @extend_schema(
        request=WrongItemIn,
        responses={200: WrongItemOut, 201: WrongItemOut, 401: Problem, 404: Problem, 422: Problem},
        description="Add a wrong item. 201 the first time, 200 for the same uid and values again. `shut` says that "
        "the hatch was shut for it.",
    )
    def post(self, request: Request) -> Response:
        recorded = record_wrong_item(
            building=self.here.building,
            told=Found.from_raw(as_mapping(request.data)),
            person=self.here.actor.person,
            via=LedgerRow.Via.API,
            now=self.here.now,
        )
        row = recorded.row
        whole = {
            "uid": row.uid,
            "happened_at": row.happened_at,
            "drum": row.drum.uid,
            "hatch": row.place.letter,
            "batch": row.batch.uid if row.batch else None,
            "visit": row.visit.uid if row.visit else None,
            "item": row.item,
            "millilitres": row.millilitres,
            "grams": row.grams,
            "taken_out": row.taken_out,
            "shut": recorded.is_dangerous,
            "via": row.via,
            "doubt": row.doubt,
        }
        return Response(
            {name: value for name, value in whole.items() if name in self.here.grant.fields},
            status=201 if recorded.is_new else 200,
        )
