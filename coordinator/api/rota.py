"""A site's duties and its plan: set up, looked at, put up, planned again. First names, for whoever plans."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.duties.kinds import KindTold, kinds_of, set_kind
from bins.duties.mine import names_of
from bins.duties.pinning import CellTold, set_cell
from bins.duties.planning import Gathered, next_period
from bins.duties.publishing import PlanTold, plan_again, plans_ahead, preview, publish, read_period, ways_again
from bins.records import Reader, as_mapping
from households.models import DutyKind, RotaPlan
from households.rota.plan import Infeasible, Plan, Replan, Replans

from ..access import Rule
from ..duty_words import WAYS, obstacle
from ..pages.duty_kinds import site_of
from .base import BuildingView
from .duty_shapes import CellIn, DutyKindIn, DutyKindOut, PlanAgainIn, PlanIn, PlanOut, RotaOut, RotaWaysOut
from .shapes import Problem


def kind_shape(kind: DutyKind, fields: Iterable[str]) -> dict[str, Any]:
    return {name: getattr(kind, name) for name in fields}


class DutyKinds(BuildingView):
    rules = {"GET": Rule("see", "duty-kind"), "POST": Rule("set", "duty-kind")}

    @extend_schema(responses={200: DutyKindOut(many=True), 401: Problem, 404: Problem}, description="A site's duties.")
    def get(self, request: Request, site: UUID) -> Response:
        found = site_of(self.here, site)
        return Response([kind_shape(kind, self.here.grant.fields) for kind in kinds_of(self.here.building, found)])

    @extend_schema(
        request=DutyKindIn,
        responses={200: DutyKindOut, 401: Problem, 404: Problem, 422: Problem},
        description="Set a duty up, or change the one of that uid. It counts from the next plan on.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        here, found, raw = self.here, site_of(self.here, site), as_mapping(request.data)
        days = raw.get("days")
        told = KindTold.from_raw(raw, days if isinstance(days, list) else [], here.today)
        kind = set_kind(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
        return Response(kind_shape(kind, here.grant.fields))


class Rota(BuildingView):
    rules = {"GET": Rule("see", "rota"), "POST": Rule("publish", "rota")}

    @extend_schema(
        parameters=[OpenApiParameter("first", str), OpenApiParameter("last", str)],
        responses={200: RotaOut, 401: Problem, 404: Problem, 422: Problem},
        description="The plan that would be put up, for the next four weeks or the days named. Nothing is written.",
    )
    def get(self, request: Request, site: UUID) -> Response:
        here, found = self.here, site_of(self.here, site)
        first, last = next_period(here.building, found, here.now)
        if request.query_params:
            reader = Reader(request.query_params.dict())
            first, last = read_period(reader, here.today)
            reader.finish()
        seen = preview(here.building, found, first, last, here.now)
        names = names_of(here.building)
        plan = seen.outcome if isinstance(seen.outcome, Plan) else None
        return Response(
            {
                "first": first,
                "last": last,
                "mark": seen.mark,
                "proved": plan.proved if plan else None,
                "levels": _levels(plan) if plan else [],
                "obstacle": obstacle(seen.outcome, seen.gathered, names)
                if isinstance(seen.outcome, Infeasible)
                else None,
                **_shown(seen.gathered, plan, names),
            }
        )

    @extend_schema(
        request=PlanIn,
        responses={200: PlanOut, 401: Problem, 404: Problem, 422: Problem},
        description="Put up exactly what was looked at. Refused if anything has changed since.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        here, found = self.here, site_of(self.here, site)
        told = PlanTold.from_raw(as_mapping(request.data), here.today)
        row = publish(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
        return Response(plan_shape(row))


class Cells(BuildingView):
    rules = {"POST": Rule("fix", "rota")}

    @extend_schema(
        request=CellIn,
        responses={204: None, 401: Problem, 404: Problem, 422: Problem},
        description="Fix a household on a duty, or keep it from one; `free` lets go. It counts from the next plan on.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        here, found = self.here, site_of(self.here, site)
        told = CellTold.from_raw(as_mapping(request.data))
        set_cell(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
        return Response(status=204)


class RotaAgain(BuildingView):
    rules = {"GET": Rule("see", "rota"), "POST": Rule("publish", "rota")}

    @extend_schema(
        parameters=[OpenApiParameter("first", str, description="Of the period; the next one, if absent.")],
        responses={200: RotaWaysOut, 401: Problem, 404: Problem},
        description="Three plans beside the one that is up. What is done or near stays as it is in each.",
    )
    def get(self, request: Request, site: UUID) -> Response:
        here, found = self.here, site_of(self.here, site)
        plans = plans_ahead(here.building, found, here.today)
        wished = request.query_params.get("first")
        plan = next((row for row in plans if not wished or row.first_on.isoformat() == wished), None)
        if plan is None:
            return Response({"first": None, "last": None, "ways": [], "obstacle": None})
        again, names = ways_again(here.building, plan, here.now), names_of(here.building)
        ways = []
        if isinstance(again.outcome, Replans):
            for way in WAYS:
                one: Replan = getattr(again.outcome, way)
                shown = _shown(again.gathered, one.plan, names)
                facts = {"way": way, "mark": again.mark(way), "people_changed": len(one.changed)}
                ways.append({**facts, "proved": one.plan.proved, **shown})
        blocked = obstacle(again.outcome, again.gathered, names) if isinstance(again.outcome, Infeasible) else None
        return Response(
            {
                "first": plan.first_on,
                "last": plan.last_on,
                "ways": ways,
                "obstacle": blocked,
            }
        )

    @extend_schema(
        request=PlanAgainIn,
        responses={200: PlanOut, 401: Problem, 404: Problem, 422: Problem},
        description="Put up one of the three. Whoever has other days now is told by mail, by day.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        here, found = self.here, site_of(self.here, site)
        told = PlanTold.from_raw(as_mapping(request.data), here.today, again=True)
        row = plan_again(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
        return Response(plan_shape(row))


def plan_shape(row: RotaPlan) -> dict[str, Any]:
    return {
        "number": row.number,
        "first": row.first_on,
        "last": row.last_on,
        "way": row.way,
        "people_changed": row.people_changed,
        "levels": row.levels,
    }


def _levels(plan: Plan) -> list[dict[str, Any]]:
    return [
        {"goal": one.goal.value, "value": one.value, "bound": one.bound, "method": one.method.value}
        for one in plan.levels
    ]


def _shown(gathered: Gathered, plan: Plan | None, names: dict[int, str]) -> dict[str, Any]:
    """Duties and loads by first name."""
    if plan is None:
        return {"duties": [], "loads": []}

    def name(uid: UUID) -> str:
        home = gathered.households.get(uid)
        return (names.get(home.pk) or home.label) if home else ""

    people: dict[UUID, list[UUID]] = {}
    for cell in plan.cells:
        people.setdefault(cell.task, []).append(cell.household)
    return {
        "duties": [
            {
                "uid": uid,
                "work": one.kind.work,
                "day": one.day,
                "households": people.get(uid, []),
                "names": [name(home) for home in people.get(uid, [])],
            }
            for uid, one in gathered.occurrences.items()
        ],
        "loads": [
            {
                "household": load.household,
                "name": name(load.household),
                "minutes": load.minutes,
                "due_seconds": load.due_seconds,
                "ahead_before_seconds": load.ahead_before_seconds,
                "ahead_after_seconds": load.ahead_after_seconds,
            }
            for load in plan.loads
        ],
    }
