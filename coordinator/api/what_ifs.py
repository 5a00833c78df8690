"""What if: a site as somebody imagines it, asked, followed while it is worked out, and read."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers as s
from rest_framework.request import Request
from rest_framework.response import Response

from bins.forecasts.what_if import Levers, ask, has_failed
from bins.models import WhatIf
from bins.records import as_mapping
from households.models import Site

from ..access import Rule
from .base import BuildingView
from .shapes import Problem


class LeversIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    households = s.IntegerField(min_value=1, max_value=300)
    drums = s.IntegerField(min_value=1, max_value=12)
    curing_bins = s.IntegerField(min_value=0, max_value=12)
    browns_percent = s.IntegerField(min_value=0, max_value=400, help_text="Of the scraps' loose volume.")
    begins_on = s.DateField(required=False, help_text="Today, where none is told.")
    need_by = s.DateField(required=False, help_text="Compost is wanted by then: answers by start are added.")


class WhatIfOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    households = s.IntegerField()
    drums = s.IntegerField()
    curing_bins = s.IntegerField()
    browns_percent = s.IntegerField()
    begins_on = s.DateField()
    need_by = s.DateField(allow_null=True)
    asked_at = s.DateTimeField()
    state = s.ChoiceField(choices=["asked", "running", "done", "failed"])
    done_days = s.IntegerField()
    all_days = s.IntegerField(help_text="0: not begun.")
    result = s.JSONField(
        allow_null=True,
        help_text="kg_per_week; full_permille: ways in which the place is full for a day or more; low, middle, high "
        "of open_percent, first_full, first_ready (days after begins_on) and compost_litres; starts: permille of ways "
        "in which compost is there by need_by, for each start (days after begins_on).",
    )


class WhatIfs(BuildingView):
    rules = {"GET": Rule("see", "what-if"), "POST": Rule("ask", "what-if")}

    @extend_schema(
        responses={200: WhatIfOut(many=True), 401: Problem, 404: Problem},
        description="What was asked, newest first: the last twenty.",
    )
    def get(self, request: Request) -> Response:
        rows = WhatIf.objects.within(self.here.building).select_related("site").order_by("-asked_at", "-pk")
        return Response([shown(row, False, self.here.grant.fields) for row in rows])

    @extend_schema(
        request=LeversIn,
        responses={202: WhatIfOut, 401: Problem, 404: Problem, 422: Problem},
        description="Ask. A job works it out; read it again until its state is done. The same uid is asked once.",
    )
    def post(self, request: Request) -> Response:
        told = Levers.from_raw(as_mapping(request.data))
        try:
            row = ask(building=self.here.building, told=told, person=self.here.actor.person, now=self.here.now)
        except Site.DoesNotExist:
            raise Http404 from None
        return Response(shown(row, False, self.here.grant.fields), status=202)


class OneWhatIf(BuildingView):
    rules = {"GET": Rule("see", "what-if")}

    @extend_schema(
        responses={200: WhatIfOut, 401: Problem, 404: Problem}, description="One of them, and how far it is."
    )
    def get(self, request: Request, uid: UUID) -> Response:
        row = WhatIf.objects.within(self.here.building).filter(uid=uid).select_related("site").first()
        if row is None:
            raise Http404
        failed = row.result is None and has_failed(self.here.building, row)
        return Response(shown(row, failed, self.here.grant.fields))


def shown(row: WhatIf, failed: bool, fields: frozenset[str]) -> dict[str, Any]:
    state = "failed" if failed else "running" if row.all_days else "asked"
    whole = {
        "uid": row.uid,
        "site": row.site.uid,
        "households": row.households,
        "drums": row.drums,
        "curing_bins": row.curing_bins,
        "browns_percent": row.browns_percent,
        "begins_on": row.begins_on,
        "need_by": row.need_by,
        "asked_at": row.asked_at,
        "state": "done" if row.result is not None else state,
        "done_days": row.done_days,
        "all_days": row.all_days,
        "result": row.result,
    }
    return {name: value for name, value in whole.items() if name in fields}
