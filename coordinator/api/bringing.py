"""What a household brings to the store of browns, and its own part in the lot of a harvest."""

from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.harvests.part_taken import part_taken
from bins.mixing.bringing import Brought, bring_browns, of_household, take_browns_back
from bins.models import BrownsStock
from bins.records import as_mapping
from households.models import LedgerRow, Site

from ..access import Rule
from ..pages.share import own_household
from ..pages.split import harvest_of
from .base import BuildingView
from .shapes import Problem
from .store_shapes import BroughtIn, BroughtOut, PartTakenOut

PAGE = 100


class OfOwn(BuildingView):
    def shape(self, row: BrownsStock) -> dict[str, Any]:
        whole = {
            "uid": row.uid,
            "site": row.site.uid,
            "day": self.here.building.local(row.counts_at).date(),
            "kind": row.kind,
            "millilitres": row.millilitres,
            "reverses": row.reverses.uid if row.reverses else None,
            "via": row.via,
            "doubt": row.doubt,
        }
        return {name: value for name, value in whole.items() if name in self.here.grant.fields}


class Bringing(OfOwn):
    rules = {"GET": Rule("bring", "browns"), "POST": Rule("bring", "browns")}

    @extend_schema(
        responses={200: BroughtOut(many=True), 401: Problem, 404: Problem},
        description="Browns that your household brought and did not take back, newest first, 100 at most.",
    )
    def get(self, request: Request) -> Response:
        rows = of_household(self.here.building, own_household(self.here)).select_related("site", "reverses")
        return Response([self.shape(row) for row in rows[:PAGE]])

    @extend_schema(
        request=BroughtIn,
        responses={200: BroughtOut, 201: BroughtOut, 401: Problem, 404: Problem, 422: Problem},
        description="Write down browns that your household brought to the store. Whoever brings browns takes part in "
        "the lot that is filling then, where the rule is equal shares or by request.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        try:
            done = bring_browns(
                building=here.building,
                told=Brought.from_raw(as_mapping(request.data)),
                household=own_household(here),
                person=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except Site.DoesNotExist:
            raise Http404 from None
        return Response(self.shape(done.row), status=201 if done.is_new else 200)


class BringingUndo(OfOwn):
    rules = {"POST": Rule("bring", "browns")}

    @extend_schema(
        request=None,
        responses={200: BroughtOut, 401: Problem, 404: Problem, 422: Problem},
        description="Take back what your household brought, up to 14 days after it was written down. The answer is "
        "the row that reverses it; doing so twice gives the same.",
    )
    def post(self, request: Request, stored: UUID) -> Response:
        here = self.here
        try:
            row = take_browns_back(
                building=here.building,
                uid=stored,
                household=own_household(here),
                person=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except BrownsStock.DoesNotExist:
            raise Http404 from None
        return Response(self.shape(row))


class PartTaken(BuildingView):
    rules = {"GET": Rule("see", "part-taken")}

    @extend_schema(
        responses={200: PartTakenOut, 401: Problem, 404: Problem},
        description="What your household did for the lot of a harvest, and whether that is taking part by its rule.",
    )
    def get(self, request: Request, harvest: UUID) -> Response:
        here = self.here
        row = harvest_of(here, harvest)
        whole = {"harvest": row.uid} | asdict(part_taken(here.building, row, own_household(here)))
        return Response({name: value for name, value in whole.items() if name in here.grant.fields})
