"""What the committee decided, what waits for it, and what it keeps to itself."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.committee.decided import decisions_of
from bins.committee.deciding import Decided, record_decision
from bins.committee.questions import refuse_what_is_not_theirs
from bins.committee.ways import Ways, set_ways
from bins.decisions.settle import BACK, TAKE_OUT, confirm, decline
from bins.models import Decision
from bins.records import Reader, as_mapping
from households.models import CommitteeDecision, LedgerRow, Site

from ..access import Rule
from .base import BuildingView
from .committee_shapes import CommitteeAnswerIn, CommitteeDecisionIn, CommitteeDecisionOut, WaysIn, WaysOut
from .decisions import shape as question_shape
from .shapes import AnswerOut, Problem


def shape(row: CommitteeDecision, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "uid": row.uid,
        "about": row.about,
        "site": row.site.uid if row.site else None,
        "decided_on": row.decided_on,
        "words": row.words,
        "why": row.why,
        "figures": row.figures,
        "via": row.via,
    }
    if "people" in fields:
        whole["people"] = [one.person.uid for one in row.attributions.all() if one.person]
    return {name: value for name, value in whole.items() if name in fields}


class CommitteeDecisions(BuildingView):
    rules = {"GET": Rule("see", "committee-decision"), "POST": Rule("add", "committee-decision")}

    @extend_schema(
        responses={200: CommitteeDecisionOut(many=True), 401: Problem, 404: Problem},
        description="What the committee decided, newest first, 100 at most. Who decided is for those in charge.",
    )
    def get(self, request: Request) -> Response:
        return Response([shape(row, self.here.grant.fields) for row in decisions_of(self.here.building)])

    @extend_schema(
        request=CommitteeDecisionIn,
        responses={
            200: CommitteeDecisionOut, 201: CommitteeDecisionOut, 401: Problem, 404: Problem, 422: Problem,
        },
        description="Write a decision down. Nothing else changes by it.",
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        here = self.here
        told = Decided.from_raw(as_mapping(request.data))
        try:
            done = record_decision(
                building=here.building, told=told, by=here.actor.person, via=LedgerRow.Via.API, now=here.now
            )
        except Site.DoesNotExist:
            raise Http404 from None
        return Response(shape(done.row, here.grant.fields), status=201 if done.is_new else 200)


class SiteWays(BuildingView):
    rules = {"POST": Rule("set", "site-ways")}

    @extend_schema(
        request=WaysIn,
        responses={200: WaysOut, 401: Problem, 404: Problem, 422: Problem},
        description="When scraps may be brought, and who decides. A decision is written for each that changes.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        here = self.here
        told = Ways.from_raw({**as_mapping(request.data), "site": str(site)})
        try:
            changed = set_ways(
                building=here.building, told=told, by=here.actor.person, via=LedgerRow.Via.API, now=here.now
            )
        except Site.DoesNotExist:
            raise Http404 from None
        return Response({"site": changed.uid, "opening": changed.opening, "decides": changed.decides})


class CommitteeAnswer(BuildingView):
    rules = {"POST": Rule("answer", "committee-question")}

    @extend_schema(
        request=CommitteeAnswerIn,
        responses={200: AnswerOut, 401: Problem, 404: Problem, 422: Problem},
        description="Answer a proposal that waits for the committee. The answer is written down as a decision.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here = self.here
        reader = Reader(as_mapping(request.data))
        given = reader.choice("answer", ["yes", "no", TAKE_OUT, BACK])
        why = reader.words("why", 300, "")
        reader.finish()
        who: dict[str, Any] = {"building": here.building, "uid": uid, "person": here.actor.person, "now": here.now}
        who |= {"via": LedgerRow.Via.API, "why": why}
        try:
            refuse_what_is_not_theirs(here.building, uid)
            settled = (
                decline(**who) if given == "no" else confirm(**who, choice=given if given in (TAKE_OUT, BACK) else "")
            )
        except Decision.DoesNotExist:
            raise Http404 from None
        fields = here.grant.fields
        instead = question_shape(settled.instead, fields) if settled.instead else None
        return Response({"decision": question_shape(settled.decision, fields), "instead": instead})
