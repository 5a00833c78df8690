"""A neighbour's report, its state by reference, and the caretaker's steps."""

from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.cases.case_steps import Step, take_step
from bins.cases.cases import Report, find, open_cases, receive, steps
from bins.models import Case, CaseNote, Drum
from bins.records import Refused, as_mapping
from households.models import LedgerRow

from ..access import Rule
from ..pages.cases import case_of
from .base import BuildingView
from .case_shapes import CaseOut, CaseStepIn, ReportIn, ReportOut
from .shapes import Problem


def shape(case: Case, notes: list[CaseNote], fields: frozenset[str], **more: Any) -> dict[str, Any]:
    whole = {
        "reference": case.reference,
        "kind": case.kind,
        "drum": case.drum.uid if case.drum else None,
        "received_at": case.received_at,
        "answer_by": case.answer_by,
        "closed_at": case.closed_at,
        "steps": [{"at": note.counts_at, "what": note.what, "words": note.words} for note in notes],
        **more,
    }
    return {name: value for name, value in whole.items() if name in fields}


class Reports(BuildingView):
    rules = {"POST": Rule("add", "report")}

    @extend_schema(
        request=ReportIn,
        responses={200: ReportOut, 201: ReportOut, 404: Problem, 422: Problem, 429: Problem},
        description="Report something; no token is needed. The same kind at the same drum within 24 hours joins the "
        "case that is open and has its reference. Ten reports a day are taken, then: please phone.",
    )
    def post(self, request: Request) -> Response:
        try:
            received = receive(
                building=self.here.building,
                told=Report.from_raw(as_mapping(request.data)),
                language=get_language() or "en",
                now=self.here.now,
            )
        except Drum.DoesNotExist:
            raise Refused({"drum": _("There is no such drum here.")}) from None
        notes = steps(self.here.building, received.case)
        return Response(shape(received.case, notes, self.here.grant.fields), status=201 if received.is_new else 200)


class OneReport(BuildingView):
    rules = {"GET": Rule("see", "report")}

    @extend_schema(
        responses={200: ReportOut, 404: Problem},
        description="What became of a report, for whoever has its reference. It names nobody.",
    )
    def get(self, request: Request, reference: str) -> Response:
        case = find(self.here.building, reference)
        if case is None:
            raise Http404
        return Response(shape(case, steps(self.here.building, case), self.here.grant.fields))


class Cases(BuildingView):
    rules = {"GET": Rule("see", "case")}

    @extend_schema(
        responses={200: CaseOut(many=True), 401: Problem, 404: Problem},
        description="Reports that are not closed, the first to be answered first.",
    )
    def get(self, request: Request) -> Response:
        building = self.here.building
        cases = open_cases(building)
        notes: dict[int, list[CaseNote]] = {case.pk: [] for case in cases}
        for note in CaseNote.objects.within(building).filter(case__in=cases).order_by("ledger_number"):
            notes[note.case_id].append(note)
        return Response([case_shape(case, notes[case.pk], self.here.grant.fields) for case in cases])


def case_shape(case: Case, notes: list[CaseNote], fields: frozenset[str]) -> dict[str, Any]:
    reports = list(case.reports.all())
    words = [report.words for report in reports if report.words]
    return shape(case, notes, fields, uid=case.uid, look_by=case.look_by, times=len(reports), words=words)


class CaseSteps(BuildingView):
    rules = {"POST": Rule("answer", "case")}

    @extend_schema(
        request=CaseStepIn,
        responses={200: CaseOut, 401: Problem, 404: Problem, 422: Problem},
        description="Write a step down. `confirmed` was seen at the drum: it shuts every hatch of the drum until "
        "somebody looked inside each and opens it again.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here = self.here
        case = case_of(here, uid)
        try:
            take_step(
                building=here.building,
                case_uid=case.uid,
                told=Step.from_raw(as_mapping(request.data)),
                person=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except Drum.DoesNotExist:
            raise Refused({"drum": _("There is no such drum here.")}) from None
        case = case_of(here, uid)
        return Response(case_shape(case, steps(here.building, case), here.grant.fields))
