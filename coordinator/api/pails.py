"""Sizes of pail, and full ones weighed."""

from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.mixing.pails import Size, add_pail, measure_pail
from bins.mixing.weighing import PailState, Weighing, accept_weight, pail_states, weigh_pail
from bins.models import Pail
from bins.records import Reader, Refused, as_mapping
from households.models import LedgerRow, Site

from ..access import Rule
from .base import BuildingView
from .mix_shapes import PailIn, PailMeasureIn, PailOut, PailWeightIn, WeighingIn, WeighingOut
from .shapes import Problem


def shape(state: PailState, fields: frozenset[str]) -> dict[str, Any]:
    pail = state.pail
    whole = {
        "uid": pail.uid,
        "site": pail.site.uid,
        "number": pail.number,
        "name": pail.name,
        "millilitres": pail.millilitres,
        "measured": pail.measured,
        "measured_on": pail.measured_on,
        "scraps_g_per_l": pail.scraps_g_per_l,
        "calibrated_on": pail.calibrated_on,
        "weighed": state.weighed,
        "proposed_g_per_l": state.proposed_g_per_l,
        "is_due": state.is_due,
    }
    return {name: value for name, value in whole.items() if name in fields}


class OfPails(BuildingView):
    def one(self, uid: UUID) -> dict[str, Any]:
        states = pail_states(self.here.building, self.here.now)
        return shape(next(state for state in states if state.pail.uid == uid), self.here.grant.fields)


class Pails(OfPails):
    rules = {"GET": Rule("see", "pail"), "POST": Rule("set", "pail")}

    @extend_schema(
        responses={200: PailOut(many=True), 401: Problem, 404: Problem},
        description="Every pail with its weighings of the last half-year. `proposed_g_per_l` comes with the tenth.",
    )
    def get(self, request: Request) -> Response:
        states = pail_states(self.here.building, self.here.now)
        return Response([shape(state, self.here.grant.fields) for state in states])

    @extend_schema(
        request=PailIn,
        responses={200: PailOut, 401: Problem, 404: Problem, 422: Problem},
        description="Add a size, three a site at most; the same uid gives the pail that stands there. Say `cups`, or "
        "`empty_kg` and `water_kg`, or `litres`.",
    )
    def post(self, request: Request) -> Response:
        raw = as_mapping(request.data)
        reader = Reader(raw)
        site_uid = reader.uid("site")
        reader.finish()
        site = Site.objects.within(self.here.building).filter(uid=site_uid).first()
        if site is None:
            raise Refused({"site": _("There is no such place here.")})
        pail = add_pail(
            building=self.here.building,
            site=site,
            told=Size.from_raw(raw, site.cup_ml),
            person=self.here.actor.person,
            now=self.here.now,
        )
        return Response(self.one(pail.uid))


class Measure(OfPails):
    rules = {"POST": Rule("set", "pail")}

    @extend_schema(request=PailMeasureIn, responses={200: PailOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request, pail: UUID) -> Response:
        found = Pail.objects.within(self.here.building).filter(uid=pail).select_related("site").first()
        if found is None:
            raise Http404
        told = Size.from_raw({**as_mapping(request.data), "uid": str(pail)}, found.site.cup_ml)
        measure_pail(
            building=self.here.building, pail=found, told=told, person=self.here.actor.person, now=self.here.now
        )
        return Response(self.one(pail))


class Accept(OfPails):
    rules = {"POST": Rule("set", "pail")}

    @extend_schema(
        request=PailWeightIn,
        responses={200: PailOut, 401: Problem, 404: Problem, 422: Problem},
        description="Say yes to the weight that ten weighed pails propose.",
    )
    def post(self, request: Request, pail: UUID) -> Response:
        reader = Reader(as_mapping(request.data))
        g_per_l = reader.whole("g_per_l", 1, 2000)
        reader.finish()
        try:
            accept_weight(
                building=self.here.building,
                uid=pail,
                g_per_l=g_per_l or 0,
                person=self.here.actor.person,
                now=self.here.now,
            )
        except Pail.DoesNotExist:
            raise Http404 from None
        return Response(self.one(pail))


class Weighings(BuildingView):
    rules = {"POST": Rule("add", "weighing")}

    @extend_schema(
        request=WeighingIn,
        responses={200: WeighingOut, 201: WeighingOut, 401: Problem, 404: Problem, 422: Problem},
        description="Add one full pail weighed: `net_kg`, or `full_kg` and `empty_kg`. 201 the first time, 200 again.",
    )
    def post(self, request: Request) -> Response:
        recorded = weigh_pail(
            building=self.here.building,
            told=Weighing.from_raw(as_mapping(request.data)),
            person=self.here.actor.person,
            via=LedgerRow.Via.API,
            now=self.here.now,
        )
        row = recorded.row
        whole = {
            "uid": row.uid,
            "happened_at": row.happened_at,
            "pail": row.pail.uid,
            "net_g": row.net_g,
            "gross_g": row.gross_g,
            "tare_g": row.tare_g,
            "pail_ml": row.pail_ml,
            "via": row.via,
            "doubt": row.doubt,
        }
        return Response(
            {name: value for name, value in whole.items() if name in self.here.grant.fields},
            status=201 if recorded.is_new else 200,
        )
