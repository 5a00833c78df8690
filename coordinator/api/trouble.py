"""What is wrong with a lot: causes with their evidence, and what to do about the first."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers as s
from rest_framework.request import Request
from rest_framework.response import Response

from bins.care.whats_wrong import look
from bins.models import Batch
from bins.process.diagnosis import Evidence
from bins.process.remedies import FIGURE_OF, steps
from bins.process.stage import Stage

from ..access import Rule
from .base import BuildingView
from .shapes import Problem


class EvidenceOut(s.Serializer):  # type: ignore[type-arg]
    clue = s.CharField()
    weight = s.FloatField(help_text="In bits: 1 is twice as usual under this cause as under all, -1 half as usual.")


class SuspectOut(s.Serializer):  # type: ignore[type-arg]
    cause = s.CharField()
    probability = s.FloatField(help_text="Among the causes known here.")
    supports = EvidenceOut(many=True)
    opposes = EvidenceOut(many=True)


class RemedyStepOut(s.Serializer):  # type: ignore[type-arg]
    act = s.CharField()
    amount = s.FloatField(allow_null=True, help_text="Litres, turns or days, by the act; null where nobody can tell.")


class TroubleOut(s.Serializer):  # type: ignore[type-arg]
    batch = s.UUIDField()
    symptoms = s.ListField(child=s.CharField())
    suspects = SuspectOut(many=True, help_text="The likeliest first; empty where nothing is known to be wrong.")
    steps = RemedyStepOut(many=True, help_text="Against the first.")
    figures = s.DictField(child=s.FloatField())
    decision = s.UUIDField(allow_null=True, help_text="The proposal to answer once it is done.")


class Trouble(BuildingView):
    rules = {"GET": Rule("see", "trouble")}

    @extend_schema(
        responses={200: TroubleOut, 401: Problem, 404: Problem},
        description="What is likely wrong with a lot that stands in a place. Symptoms are told with a visit, in the "
        "`symptoms` of a reading.",
    )
    def get(self, request: Request, uid: UUID) -> Response:
        here = self.here
        batch = Batch.objects.within(here.building).live().filter(uid=uid).select_related("drum__site").first()
        if batch is None:
            raise Http404
        found = look(here.building, batch, here.now)
        first = found.suspects[0].cause if found.suspects else None
        acts = steps(first, found.figures, is_filling=batch.stage == Stage.FILLING) if first else ()
        whole: dict[str, Any] = {
            "batch": batch.uid,
            "symptoms": sorted(found.findings.symptoms),
            "suspects": [
                {
                    "cause": str(one.cause),
                    "probability": round(one.probability, 3),
                    "supports": [_evidence(clue) for clue in one.supports],
                    "opposes": [_evidence(clue) for clue in one.opposes],
                }
                for one in found.suspects
            ],
            "steps": [{"act": str(act), "amount": found.figures.get(FIGURE_OF.get(act, ""))} for act in acts],
            "figures": found.figures,
            "decision": found.task.uid if found.task else None,
        }
        return Response({name: value for name, value in whole.items() if name in here.grant.fields})


def _evidence(found: Evidence) -> dict[str, Any]:
    return {"clue": str(found.clue), "weight": round(found.weight, 2)}
