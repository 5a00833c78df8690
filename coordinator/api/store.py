"""The store of browns: how much is there, what came in or was counted, how it is kept."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.mixing.stock import StockState, stocks
from bins.mixing.storing import Kept, Stored, record_stock, set_store, undo_stock
from bins.models import BrownsStock
from bins.records import as_mapping
from households.models import Building, LedgerRow, Site

from ..access import Rule
from .base import BuildingView
from .shapes import Problem
from .store_shapes import StockRowIn, StockRowOut, StoreIn, StoreOut

PAGE = 100


def row_shape(row: BrownsStock, building: Building, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "uid": row.uid,
        "day": building.local(row.counts_at).date(),
        "act": row.act,
        "kind": row.kind,
        "millilitres": row.millilitres,
        "reverses": row.reverses.uid if row.reverses else None,
        "via": row.via,
        "doubt": row.doubt,
    }
    return {name: value for name, value in whole.items() if name in fields}


def state_shape(state: StockState, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "site": state.site.uid,
        "litres": state.litres,
        "counted_at": state.counted_at,
        "weekly_litres": round(state.weekly, 1),
        "is_measured": state.is_measured,
        "reorder_at_litres": state.reorder_at,
        "days_of_cover": state.days,
        "is_low": state.is_low,
        "room": state.store.room,
        "most_litres": state.most,
        "delivery_weeks": state.store.delivery_weeks,
        "review_weeks": state.store.review_weeks,
        "safety_weeks": state.store.safety_weeks,
        "cautions": [str(mind) for mind in state.minds],
    }
    return {name: value for name, value in whole.items() if name in fields}


class Stores(BuildingView):
    rules = {"GET": Rule("see", "stock")}

    @extend_schema(responses={200: StoreOut(many=True), 401: Problem, 404: Problem})
    def get(self, request: Request) -> Response:
        states = stocks(self.here.building, self.here.now)
        return Response([state_shape(state, self.here.grant.fields) for state in states])


class OneStore(BuildingView):
    rules = {"POST": Rule("set", "store")}

    @extend_schema(request=StoreIn, responses={200: StoreOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request, site: UUID) -> Response:
        here, told = self.here, Kept.from_raw(as_mapping(request.data))
        try:
            set_store(building=here.building, site_uid=site, told=told, person=here.actor.person, now=here.now)
        except Site.DoesNotExist:
            raise Http404 from None
        state = next(state for state in stocks(here.building, here.now) if state.site.uid == site)
        return Response(state_shape(state, here.grant.fields))


class StockRows(BuildingView):
    rules = {"GET": Rule("see", "stock"), "POST": Rule("add", "stock")}

    @extend_schema(
        responses={200: StockRowOut(many=True), 401: Problem, 404: Problem},
        description="Deliveries and counts, newest first, 100 at most. No row says who.",
    )
    def get(self, request: Request) -> Response:
        building = self.here.building
        rows = BrownsStock.objects.within(building).select_related("reverses").order_by("-ledger_number")[:PAGE]
        return Response([row_shape(row, building, self.here.grant.fields) for row in rows])

    @extend_schema(
        request=StockRowIn,
        responses={200: StockRowOut, 201: StockRowOut, 401: Problem, 404: Problem, 422: Problem},
        description="Write down what came in or what is there. A count of 0 says on all pages that there are none.",
    )
    def post(self, request: Request) -> Response:
        here, told = self.here, Stored.from_raw(as_mapping(request.data))
        try:
            done = record_stock(
                building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.API, now=here.now
            )
        except Site.DoesNotExist:
            raise Http404 from None
        shape = row_shape(done.row, here.building, here.grant.fields)
        return Response(shape, status=201 if done.is_new else 200)


class UndoStock(BuildingView):
    rules = {"POST": Rule("add", "stock")}

    @extend_schema(
        request=None,
        responses={200: StockRowOut, 401: Problem, 404: Problem},
        description="Take a delivery or a count back. The answer is the row that reverses it.",
    )
    def post(self, request: Request, stored: UUID) -> Response:
        here = self.here
        try:
            row = undo_stock(
                building=here.building, uid=stored, person=here.actor.person, via=LedgerRow.Via.API, now=here.now
            )
        except BrownsStock.DoesNotExist:
            raise Http404 from None
        return Response(row_shape(row, here.building, here.grant.fields))
