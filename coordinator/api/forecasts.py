"""What is foretold of each lot, how past ranges held, and one range a drum for everybody."""

import datetime as dt
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers as s
from rest_framework.request import Request
from rest_framework.response import Response

from bins.forecasts.hits import records
from bins.forecasts.shown import Outlook, next_ready, outlooks
from bins.models import Forecast
from bins.process.stage import Stage

from ..access import Rule
from .base import BuildingView
from .shapes import Problem


class DatesOut(s.Serializer):  # type: ignore[type-arg]
    low = s.DateField(allow_null=True, help_text="10 %; null: not within the horizon.")
    mid = s.DateField(allow_null=True)
    high = s.DateField(allow_null=True, help_text="90 %")


class AmountsOut(s.Serializer):  # type: ignore[type-arg]
    low = s.IntegerField()
    mid = s.IntegerField()
    high = s.IntegerField()


class ForecastOut(s.Serializer):  # type: ignore[type-arg]
    batch = s.UUIDField()
    reason = s.CharField(allow_null=True, help_text="Why there is none; then the rest is null.")
    made_on = s.DateField(allow_null=True, help_text="The last day that it knows of.")
    horizon_days = s.IntegerField(allow_null=True)
    full = DatesOut(allow_null=True, help_text="Of an open lot.")
    curing = DatesOut(allow_null=True)
    ready = DatesOut(allow_null=True)
    compost_ml = AmountsOut(allow_null=True)
    clash = s.JSONField(
        allow_null=True,
        help_text="Of an open lot: permille, and days after made_on (low, middle, high) of being full, of the next "
        "empty place, and how many days nothing is open.",
    )
    remedied = s.ListField(
        child=s.IntegerField(allow_null=True),
        allow_null=True,
        help_text="Of a lot in trouble: days after made_on (low, middle, high) of being ready once the advice is done.",
    )
    bands = s.JSONField(allow_null=True, help_text="level (percent) and temperature (°C): low, middle, high by day.")


class RecordOut(s.Serializer):  # type: ignore[type-arg]
    what = s.CharField()
    ahead_days = s.IntegerField()
    tried = s.IntegerField()
    held = s.IntegerField()
    score_days = s.FloatField(help_text="Mean interval score in days; less is better.")
    prior_score_days = s.FloatField(help_text="The same of ranges that no measurement had a part in.")


class ForecastsOut(s.Serializer):  # type: ignore[type-arg]
    forecasts = ForecastOut(many=True)
    records = RecordOut(many=True)


class ReadyRangeOut(s.Serializer):  # type: ignore[type-arg]
    drum = s.UUIDField()
    batch = s.UUIDField()
    low = s.DateField()
    high = s.DateField(allow_null=True)


class Forecasts(BuildingView):
    rules = {"GET": Rule("see", "forecast")}

    @extend_schema(
        responses={200: ForecastsOut, 401: Problem, 404: Problem},
        description="The newest forecast of each lot that stands in a place, and how often past ranges held.",
    )
    def get(self, request: Request) -> Response:
        fields = self.here.grant.fields
        found = [told(one) for one in outlooks(self.here.building)]
        return Response(
            {
                "forecasts": [{name: value for name, value in one.items() if name in fields} for one in found],
                "records": [
                    {
                        "what": what, "ahead_days": ahead, "tried": one.tried, "held": one.held,
                        "score_days": round(one.score_days, 1), "prior_score_days": round(one.rival_score_days, 1),
                    }
                    for (what, ahead), one in records(self.here.building).items()
                ],
            }
        )  # fmt: skip


class ReadyRanges(BuildingView):
    rules = {"GET": Rule("see", "ready-range")}

    @extend_schema(
        responses={200: ReadyRangeOut(many=True), 401: Problem, 404: Problem},
        description="Of each drum the lot that is to be ready first, and between which days that probably is.",
    )
    def get(self, request: Request) -> Response:
        fields, found = self.here.grant.fields, []
        for row in next_ready(self.here.building):
            whole = {
                "drum": row.batch.drum.uid, "batch": row.batch.uid, "low": row.ready_low, "high": row.ready_high,
            }  # fmt: skip
            found.append({name: value for name, value in whole.items() if name in fields})
        return Response(found)


def told(one: Outlook) -> dict[str, Any]:
    row = one.forecast
    whole: dict[str, Any] = {"batch": one.batch.uid, "reason": one.why_none and str(one.why_none)}
    if row is None:
        names = ("made_on", "horizon_days", "full", "curing", "ready", "compost_ml", "clash", "remedied", "bands")
        return whole | dict.fromkeys(names)
    return whole | {
        "made_on": row.made_on,
        "horizon_days": row.horizon_days,
        "full": _dates(row, "full") if one.batch.stage == Stage.FILLING else None,
        "curing": _dates(row, "curing"),
        "ready": _dates(row, "ready"),
        "compost_ml": {"low": row.compost_low_ml, "mid": row.compost_mid_ml, "high": row.compost_high_ml},
        "clash": row.clash,
        "remedied": row.remedied,
        "bands": row.bands,
    }


def _dates(row: Forecast, name: str) -> dict[str, dt.date | None]:
    return {end: getattr(row, f"{name}_{end}") for end in ("low", "mid", "high")}
