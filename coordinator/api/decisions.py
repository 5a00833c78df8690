"""What the rules propose, and a person's answer."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.decisions.settle import BACK, TAKE_OUT, confirm, decline
from bins.models import Decision
from bins.records import Reader, as_mapping
from households.models import LedgerRow

from ..access import Rule
from .base import BuildingView
from .shapes import AnswerIn, AnswerOut, DecisionOut, Problem


def shape(decision: Decision, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "uid": decision.uid,
        "drum": decision.batch.drum.uid,
        "batch": decision.batch.uid,
        "rule": decision.rule,
        "reason": decision.reason,
        "figures": decision.figures,
        "state": decision.state,
        "next_place": decision.next_place.uid if decision.next_place else None,
        "made_at": decision.made_at,
    }
    return {name: value for name, value in whole.items() if name in fields}


class Decisions(BuildingView):
    rules = {"GET": Rule("see", "decision")}

    @extend_schema(
        responses={200: DecisionOut(many=True), 401: Problem, 404: Problem},
        description="Proposals that wait for an answer. One a batch and rule at most.",
    )
    def get(self, request: Request) -> Response:
        rows = Decision.objects.within(self.here.building).proposed().select_related("batch__drum", "next_place")
        return Response([shape(row, self.here.grant.fields) for row in rows.order_by("made_at", "pk")])


class Answer(BuildingView):
    rules = {"POST": Rule("settle", "decision")}

    @extend_schema(
        request=AnswerIn,
        responses={200: AnswerOut, 401: Problem, 404: Problem, 422: Problem},
        description="Answer a proposal. Yes runs the rule again on present figures: the same outcome is applied, "
        "another stands in `instead` and nothing was done.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here = self.here
        reader = Reader(as_mapping(request.data))
        answer = reader.choice("answer", ["yes", "no", TAKE_OUT, BACK])
        reader.finish()
        try:
            if answer == "no":
                settled = decline(
                    building=here.building, uid=uid, person=here.actor.person, via=LedgerRow.Via.API, now=here.now
                )
            else:
                settled = confirm(
                    building=here.building, uid=uid, person=here.actor.person, via=LedgerRow.Via.API, now=here.now,
                    choice=answer if answer in (TAKE_OUT, BACK) else "",
                )  # fmt: skip
        except Decision.DoesNotExist:
            raise Http404 from None
        fields = here.grant.fields
        return Response(
            {
                "decision": shape(settled.decision, fields),
                "instead": shape(settled.instead, fields) if settled.instead else None,
            }
        )
