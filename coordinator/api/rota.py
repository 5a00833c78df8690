"""A site's duties and its plan: set up, asked for, worked out, put up. First names, for whoever plans."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.duties.drafting import DaysToPlan, State, ask, plans_ahead, state_of
from bins.duties.kinds import KindTold, kinds_of, set_kind
from bins.duties.mine import names_of
from bins.duties.outcomes import of_raw
from bins.duties.pinning import CellTold, set_cell
from bins.duties.planning import Gathered, gather, next_period
from bins.duties.publishing import PutUp, put_up
from bins.duties.sharers import SharersTold, households_of, set_sharers
from bins.records import as_mapping
from households.models import DutyKind, RotaDraft, RotaPlan, Site
from households.rota.plan import Infeasible, Plan, Replan, Replans

from ..access import Rule
from ..doors import Here
from ..duty_words import WAYS, obstacle
from ..pages.duty_kinds import site_of
from ..pages.rota_look import draft_of
from .base import BuildingView
from .duty_shapes import (
    CellIn,
    DaysToPlanIn,
    DraftOut,
    DutyKindIn,
    DutyKindOut,
    PlanOut,
    PutUpIn,
    RotaOut,
    SharersIn,
    SharersOut,
)
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


class Sharers(BuildingView):
    rules = {"GET": Rule("set", "duty-sharers"), "POST": Rule("set", "duty-sharers")}

    @extend_schema(
        responses={200: SharersOut(many=True), 401: Problem, 404: Problem},
        description="Every household with a drum at the site, and whether it shares the duties.",
    )
    def get(self, request: Request, site: UUID) -> Response:
        return Response(self._shape(site_of(self.here, site)))

    @extend_schema(
        request=SharersIn,
        responses={200: SharersOut(many=True), 401: Problem, 404: Problem, 422: Problem},
        description="Say who shares them; all others are left out. It counts from the next plan on.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        here, found = self.here, site_of(self.here, site)
        told = SharersTold.from_raw(as_mapping(request.data).get("households"))
        set_sharers(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
        return Response(self._shape(found))

    def _shape(self, site: Site) -> list[dict[str, Any]]:
        homes = households_of(self.here.building, site, self.here.today)
        return [{"household": home.uid, "shares": shares} for home, shares in homes]


class Rota(BuildingView):
    rules = {"GET": Rule("see", "rota"), "POST": Rule("publish", "rota")}

    @extend_schema(
        responses={200: RotaOut, 401: Problem, 404: Problem},
        description="The days to plan next, the plans that are up, and those that were asked for, newest first.",
    )
    def get(self, request: Request, site: UUID) -> Response:
        here, found = self.here, site_of(self.here, site)
        first, last = next_period(here.building, found, here.now)
        drafts = RotaDraft.objects.within(here.building).filter(site=found).order_by("-asked_at", "-pk")
        return Response(
            {
                "first": first,
                "last": last,
                "plans": [plan_shape(row) for row in plans_ahead(here.building, found, here.today)],
                "drafts": [row.uid for row in drafts],
            }
        )

    @extend_schema(
        request=DaysToPlanIn,
        responses={202: DraftOut, 401: Problem, 404: Problem, 422: Problem},
        description="Ask for a plan of these days. A job works it out; read it again until its state is done. Nothing "
        "goes up by itself. The same uid is asked once.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        here, found = self.here, site_of(self.here, site)
        told = DaysToPlan.from_raw(as_mapping(request.data), here.today)
        row = ask(building=here.building, site=found, told=told, person=here.actor.person, now=here.now)
        return Response(draft_shape(here, row), status=202)


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


class Draft(BuildingView):
    rules = {"GET": Rule("see", "rota"), "POST": Rule("publish", "rota")}

    @extend_schema(
        responses={200: DraftOut, 401: Problem, 404: Problem},
        description="A plan that was asked for, and how far it is. Planned again, there are three beside the one that "
        "is up, and what is done or near stays as it is in each.",
    )
    def get(self, request: Request, uid: UUID) -> Response:
        return Response(draft_shape(self.here, draft_of(self.here, uid)))

    @extend_schema(
        request=PutUpIn,
        responses={200: PlanOut, 401: Problem, 404: Problem, 422: Problem},
        description="Put up exactly this plan. Refused if anything has changed since it was worked out. Whoever has "
        "other days than in the plan before is told by mail, by day.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here, draft = self.here, draft_of(self.here, uid)
        told = PutUp.from_raw(as_mapping(request.data))
        row = put_up(building=here.building, draft=draft, told=told, person=here.actor.person, now=here.now)
        return Response(plan_shape(row))


def draft_shape(here: Here, draft: RotaDraft) -> dict[str, Any]:
    """How far it is, and what was found; of what has changed since no plan is told."""
    state = state_of(here.building, draft)
    found: dict[str, Any] = {"is_current": None, "obstacle": None, "plans": []}
    if state is State.DONE and draft.outcome is not None:
        gathered = gather(here.building, draft.site, draft.first_on, draft.last_on, here.now)
        found["is_current"] = gathered.mark == draft.rests_on
        if found["is_current"]:
            names = names_of(here.building)
            match of_raw(draft.outcome):
                case Plan() as plan:
                    found["plans"] = [_plan(gathered, plan, (), RotaPlan.Way.PUBLISHED, names)]
                case Replans() as ways:
                    each: list[tuple[str, Replan]] = [(way, getattr(ways, way)) for way in WAYS]
                    found["plans"] = [_plan(gathered, one.plan, one.changed, way, names) for way, one in each]
                case Infeasible() as blocked:
                    found["obstacle"] = obstacle(blocked, gathered, names)
    return {
        "uid": draft.uid,
        "site": draft.site.uid,
        "first": draft.first_on,
        "last": draft.last_on,
        "again": draft.is_again,
        "asked_at": draft.asked_at,
        "state": state.value,
        **found,
    }


def _plan(gathered: Gathered, plan: Plan, changed: tuple[UUID, ...], way: str, names: dict[int, str]) -> dict[str, Any]:
    facts = {"way": way, "people_changed": len(changed), "proved": plan.proved, "levels": _levels(plan)}
    return {**facts, **_shown(gathered, plan, names)}


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


def _shown(gathered: Gathered, plan: Plan, names: dict[int, str]) -> dict[str, Any]:
    """Duties and loads by first name."""

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
