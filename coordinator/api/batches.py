"""Batches with their history, and what can be done to them, to hatches, drums and tests."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.care.history import history
from bins.decisions.gather import as_test, rules_of
from bins.decisions.site_numbers import RANGES, SiteNumbers, set_numbers
from bins.harvests.overs import overs_of
from bins.models import Batch, MaturityTest, SiteRules
from bins.records import as_mapping
from households.models import LedgerRow, Site

from ..access import Rule
from ..care import ACTS, perform
from ..telling import tell
from . import care_shapes as shapes
from .base import BuildingView
from .shapes import Problem


def shape(batch: Batch) -> dict[str, Any]:
    return {
        "uid": batch.uid,
        "drum": batch.drum.uid,
        "place": batch.place.uid if batch.place else None,
        "stage": batch.stage,
        "opened_at": batch.opened_at,
        "closed_at": batch.closed_at,
        "ended_at": batch.ended_at,
        "merged_into": batch.merged_into.uid if batch.merged_into else None,
    }


class Batches(BuildingView):
    rules = {"GET": Rule("see", "batch")}

    @extend_schema(
        responses={200: shapes.BatchOut(many=True), 401: Problem, 404: Problem},
        description="Every lot of the building that stands in a place, the oldest first.",
    )
    def get(self, request: Request) -> Response:
        rows = Batch.objects.within(self.here.building).live().select_related("drum", "place", "merged_into")
        fields = self.here.grant.fields
        return Response(
            [
                {name: value for name, value in shape(row).items() if name in fields}
                for row in rows.order_by("opened_at", "pk")
            ]
        )


class OneBatch(BuildingView):
    rules = {"GET": Rule("see", "batch")}

    @extend_schema(
        responses={200: shapes.OneBatchOut, 401: Problem, 404: Problem},
        description="One lot, living or ended, with what happened to it, newest first.",
    )
    def get(self, request: Request, uid: UUID) -> Response:
        here = self.here
        batches = Batch.objects.within(here.building).select_related("drum", "place", "merged_into")
        batch = batches.filter(uid=uid).first()
        if batch is None:
            raise Http404
        events = []
        for event in history(here.building, batch):
            told = tell(event, here.building)
            events.append(
                {"at": told.at, "kind": event.kind, "what": told.what, "reason": told.reason, "who": told.who}
            )
        tests = MaturityTest.objects.within(here.building).filter(batch=batch).select_related("result")
        whole = shape(batch) | {
            "overs_ml": overs_of(here.building, batch),
            "history": events,
            "tests": [_test(test) for test in tests.order_by("counts_at", "pk")],
        }
        return Response({name: value for name, value in whole.items() if name in here.grant.fields})


def _test(test: MaturityTest) -> dict[str, Any]:
    result = getattr(test, "result", None)
    if result is not None:
        result.test = test
    return {
        "uid": test.uid,
        "kind": test.kind,
        "begun_at": test.counts_at,
        "is_read": result is not None,
        "passed": as_test(result).passed if result is not None else None,
    }


def act_view(act: str, body: type[Any], description: str) -> type[BuildingView]:
    """The view of one act: its subject is in the address, the rest of the record in the body."""
    rule = Rule("change", "batch" if ACTS[act].subject in ("batch", "test") else "drum-care")

    class Perform(BuildingView):
        rules = {"POST": rule}

        @extend_schema(
            request=body,
            responses={200: shapes.DoneOut, 401: Problem, 404: Problem, 422: Problem},
            description=f"{description} The same uid with the same values is answered alike.",
        )
        def post(self, request: Request, uid: UUID) -> Response:
            raw = as_mapping(request.data)
            perform(self.here, act, uid, raw, LedgerRow.Via.API)
            return Response({"act": act, "uid": raw["uid"], "subject": uid})

    Perform.__name__ = Perform.__qualname__ = act.title().replace("-", "")
    return Perform


ACT_VIEWS = {
    act: act_view(act, body, description)
    for act, body, description in (
        ("closings", shapes.UidIn, "Close an open lot at the caretaker's word; the next free hatch opens."),
        ("overrides", shapes.ReasonIn, "Call a resting lot finished before the rule does, by name and with a reason."),
        ("steps-back", shapes.ReasonIn, "One stage back; a wrong close is undone while the next hatch is empty."),
        ("moves", shapes.MoveIn, "A lot stands elsewhere now."),
        ("merges", shapes.MergeIn, "A lot went into another of its drum."),
        ("discards", shapes.DiscardIn, "A lot was thrown out; its contributors are told."),
        ("tests", shapes.TestIn, "Begin a home test."),
        ("openings", shapes.UidIn, "The tag hangs on an empty hatch."),
        ("shuttings", shapes.ReasonIn, "Shut a hatch for now."),
        ("reopenings", shapes.LookedIn, "Shut no longer: somebody looked inside."),
        ("states", shapes.StateIn, "A drum rests, goes out of service or comes back."),
        ("turning", shapes.TurnsIn, "How the hatches of a drum turn; one split along its axle turns together."),
        ("make", shapes.MakeIn, "What a drum is made of, both its hatches alike; forecasts reckon with it."),
        ("bin-make", shapes.MakeIn, "What a curing bin is made of; forecasts reckon with it."),
        ("results", shapes.ResultIn, "What a home test showed."),
    )
}


class Rules(BuildingView):
    rules = {"GET": Rule("set", "site-rules"), "POST": Rule("set", "site-rules")}

    @extend_schema(responses={200: shapes.SiteRulesShape, 401: Problem, 404: Problem})
    def get(self, request: Request, uid: UUID) -> Response:
        return Response(_numbers(rules_of(self._site(uid))))

    @extend_schema(
        request=shapes.SiteRulesShape,
        responses={200: shapes.SiteRulesShape, 401: Problem, 404: Problem, 422: Problem},
        description="Set the numbers of a site's rules; one that isn't told takes its default.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here, site = self.here, self._site(uid)
        told = SiteNumbers.from_raw(as_mapping(request.data))
        rules = set_numbers(
            building=here.building, site_uid=site.uid, told=told, person=here.actor.person, now=here.now
        )
        return Response(_numbers(rules))

    def _site(self, uid: UUID) -> Site:
        site: Site | None = Site.objects.within(self.here.building).filter(uid=uid).select_related("rules").first()
        if site is None:
            raise Http404
        return site


def _numbers(rules: SiteRules) -> dict[str, Any]:
    numbers = {name: getattr(rules, name) for name in (*RANGES, "winter_first", "spring_first")}
    air = rules.air_tenths_c
    return numbers | {"air_c": None if air is None else [tenths / 10 for tenths in air]}
