"""Browns: the one number and its advice, what the open hatches lack, what was added."""

from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.hatch import drum_states
from bins.mixing.amending import Added, amend
from bins.mixing.browns import Advice, BrownsTold, accept_number, advise, tell_browns, tell_stock
from bins.mixing.mixing import CorrectionTask, corrections
from bins.models import Amendment, Batch
from bins.process.amendment import NotAchievable
from bins.process.browns import SignNumber
from bins.records import Reader, Refused, as_mapping
from households.models import LedgerRow, Site

from ..access import Rule
from .base import BuildingView
from .mix_shapes import AmendmentIn, AmendmentOut, BrownsIn, BrownsOut, CorrectionOut, NumberIn, StockIn
from .shapes import Problem


def shape(advice: Advice, fields: frozenset[str]) -> dict[str, Any]:
    site, says = advice.site, advice.says
    mix = says if isinstance(says, SignNumber) else None
    none = says if isinstance(says, NotAchievable) else None
    whole = {
        "site": site.uid,
        "browns": site.browns,
        "cup_ml": site.cup_ml,
        "half_cups_per_pail": site.half_cups_per_pail,
        "cups_changed_on": site.cups_changed_on,
        "changes_from": advice.changes_from if site.cups_changed_on else None,
        "without_browns": site.without_browns,
        "browns_out_since": site.browns_out_since,
        "advised_half_cups": advice.half_cups,
        "moisture_percent": round(100 * mix.moisture, 1) if mix else None,
        "available_c_to_n": round(mix.available_c_to_n, 1) if mix else None,
        "c_to_n": round(mix.c_to_n, 1) if mix else None,
        "preferred": mix.preferred if mix else None,
        "goal": str(none.goal) if none else None,
        "would_do": list(none.would_do) if none else [],
        "least_cup_litres": none.least_cup_litres if none else None,
    }
    return {name: value for name, value in whole.items() if name in fields}


class OfSite(BuildingView):
    def answer(self, uid: UUID) -> Response:
        """The site's browns as they stand; 404 for one of elsewhere."""
        found = next((advice for advice in advise(self.here.building) if advice.site.uid == uid), None)
        if found is None:
            raise Http404
        return Response(shape(found, self.here.grant.fields))


class Browns(BuildingView):
    rules = {"GET": Rule("see", "browns")}

    @extend_schema(
        responses={200: BrownsOut(many=True), 401: Problem, 404: Problem},
        description="Each site's number of half cups for a full pail, and what is advised. Where no amount does it, "
        "`goal` says what cannot be reached and `would_do` or `least_cup_litres` what would.",
    )
    def get(self, request: Request) -> Response:
        return Response([shape(advice, self.here.grant.fields) for advice in advise(self.here.building)])


class SiteBrowns(OfSite):
    rules = {"POST": Rule("set", "browns")}

    @extend_schema(request=BrownsIn, responses={200: BrownsOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request, site: UUID) -> Response:
        told = BrownsTold.from_raw(as_mapping(request.data))
        try:
            tell_browns(
                building=self.here.building, site_uid=site, told=told, person=self.here.actor.person, now=self.here.now
            )
        except Site.DoesNotExist:
            raise Http404 from None
        return self.answer(site)


class Number(OfSite):
    rules = {"POST": Rule("set", "browns")}

    @extend_schema(
        request=NumberIn,
        responses={200: BrownsOut, 401: Problem, 404: Problem, 422: Problem},
        description="Say yes to the number advised. Refused when the advice is another one by now, or when the "
        "number changed less than a month ago.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        reader = Reader(as_mapping(request.data))
        half_cups = reader.whole("half_cups", 0, 24)
        if half_cups is None and not reader.errors:
            reader.errors["half_cups"] = _("Which number do you say yes to?")
        reader.finish()
        try:
            accept_number(
                building=self.here.building,
                site_uid=site,
                half_cups=half_cups or 0,
                person=self.here.actor.person,
                now=self.here.now,
            )
        except Site.DoesNotExist:
            raise Http404 from None
        return self.answer(site)


class Stock(OfSite):
    rules = {"POST": Rule("set", "browns")}

    @extend_schema(
        request=StockIn,
        responses={200: BrownsOut, 401: Problem, 404: Problem, 422: Problem},
        description="Say that the browns are used up, or that there are some again.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        reader = Reader(as_mapping(request.data))
        is_out = reader.yes("out")
        reader.finish()
        try:
            tell_stock(
                building=self.here.building, site_uid=site, is_out=is_out, person=self.here.actor.person,
                now=self.here.now,
            )  # fmt: skip
        except Site.DoesNotExist:
            raise Http404 from None
        return self.answer(site)


class Corrections(BuildingView):
    rules = {"GET": Rule("see", "correction")}

    @extend_schema(
        responses={200: CorrectionOut(many=True), 401: Problem, 404: Problem},
        description="What the open hatches lack, by what was brought and added; nothing for a lot in its bands.",
    )
    def get(self, request: Request) -> Response:
        tasks = corrections(self.here.building, drum_states(self.here.building))
        return Response([_correction(task, self.here.grant.fields) for task in tasks])


def _correction(task: CorrectionTask, fields: frozenset[str]) -> dict[str, Any]:
    says, hatch = task.says, task.state.open
    none = says if isinstance(says, NotAchievable) else None
    can = None if isinstance(says, NotAchievable) else says
    whole = {
        "drum": task.state.drum.uid,
        "batch": task.batch.uid,
        "hatch": hatch.place.letter if hatch else None,
        "browns": task.kind,
        "browns_litres": can.browns_litres if can else None,
        "water_litres": can.water_litres if can else None,
        "moisture_before_percent": round(100 * can.moisture_before, 1) if can else None,
        "moisture_after_percent": round(100 * can.moisture_after, 1) if can else None,
        "goal": str(none.goal) if none else None,
        "would_do": list(none.would_do) if none else [],
    }
    return {name: value for name, value in whole.items() if name in fields}


class Amendments(BuildingView):
    rules = {"POST": Rule("add", "amendment")}

    @extend_schema(
        request=AmendmentIn,
        responses={
            200: AmendmentOut(many=True),
            201: AmendmentOut(many=True),
            401: Problem,
            404: Problem,
            422: Problem,
        },
        description="Add browns or water put into a batch: one row for each. 201 the first time, 200 again.",
    )
    def post(self, request: Request) -> Response:
        try:
            recorded = amend(
                building=self.here.building,
                told=Added.from_raw(as_mapping(request.data)),
                person=self.here.actor.person,
                via=LedgerRow.Via.API,
                now=self.here.now,
            )
        except Batch.DoesNotExist:
            raise Refused({"batch": _("There is no such batch here.")}) from None
        rows = [_amendment(row, self.here.grant.fields) for row in recorded.rows]
        return Response(rows, status=201 if recorded.is_new else 200)


def _amendment(row: Amendment, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "uid": row.uid,
        "happened_at": row.happened_at,
        "batch": row.batch.uid,
        "material": row.material,
        "millilitres": row.millilitres,
        "via": row.via,
        "doubt": row.doubt,
    }
    return {name: value for name, value in whole.items() if name in fields}
