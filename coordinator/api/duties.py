"""A household's duties, cover for one another, what it can't do; the week by first name; who stands in."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.duties.attending import days_alone, pause_of
from bins.duties.cover import CoverAnswer, CoverAsked, answer, ask, open_covers, own_covers
from bins.duties.doing import finish, take
from bins.duties.limits import LimitsTold, limits_of, set_limits
from bins.duties.mine import duties_by_first_name, duties_of, shares_of_work
from bins.duties.phase import first_day_not_over, phase
from bins.records import as_mapping
from households.models import Cover, Duty, Handover, Lead, LeadAway, StandIn

from ..access import Rule
from ..pages.duties import AHEAD, household_of, site_of_household
from ..pages.duty_kinds import site_of
from ..pages.stand_in import write
from .base import BuildingView
from .duty_shapes import (
    CoverAnswerIn,
    CoverIn,
    CoverOut,
    DutyLimitsShape,
    DutyOut,
    SharesOut,
    StandInIn,
    StandInOut,
    WeekDutyOut,
)
from .shapes import Problem

WEEK = dt.timedelta(days=6)


def duty_shape(duty: Duty, today: dt.date, **more: Any) -> dict[str, Any]:
    return {
        "uid": duty.uid,
        "work": duty.kind.work,
        "day": duty.day,
        "begins_at": duty.begins_at,
        "minutes": duty.minutes,
        "least": duty.least,
        "usual": duty.usual,
        "phase": phase(duty, today),
        **more,
    }


class Duties(BuildingView):
    rules = {"GET": Rule("see", "duty")}

    @extend_schema(
        responses={200: DutyOut(many=True), 401: Problem, 404: Problem},
        description="Your household's duties: those of the last days that may still be done, and two months ahead.",
    )
    def get(self, request: Request) -> Response:
        here = self.here
        first, last = first_day_not_over(here.today), here.today + AHEAD
        mine = duties_of(here.building, household_of(here), first, last, here.now)
        return Response([duty_shape(one.duty, here.today, is_asked=one.is_asked, others=one.others) for one in mine])


class Shares(BuildingView):
    rules = {"GET": Rule("see", "duty")}

    @extend_schema(
        responses={200: SharesOut, 401: Problem, 404: Problem},
        description="Minutes of each household in the plan of today or the next one, without names. Empty below five.",
    )
    def get(self, request: Request) -> Response:
        here = self.here
        site = site_of_household(here, household_of(here))
        return Response({"minutes": shares_of_work(here.building, site, here.today) if site else []})


class Week(BuildingView):
    rules = {"GET": Rule("see", "duty-week")}

    @extend_schema(
        responses={200: WeekDutyOut(many=True), 401: Problem, 404: Problem},
        description="The duties of the next seven days by first name.",
    )
    def get(self, request: Request) -> Response:
        here = self.here
        return Response(
            [
                {
                    "uid": one.duty.uid,
                    "site": one.duty.kind.site.uid,
                    "work": one.duty.kind.work,
                    "day": one.duty.day,
                    "begins_at": one.duty.begins_at,
                    "least": one.duty.least,
                    "phase": one.phase,
                    "names": one.names,
                }
                for one in duties_by_first_name(here.building, here.today, here.today + WEEK, here.now)
            ]
        )


class Done(BuildingView):
    rules = {"POST": Rule("finish", "duty")}

    @extend_schema(
        request=None,
        responses={200: DutyOut, 401: Problem, 404: Problem, 422: Problem},
        description="A duty was done: by its household's word, or the caretaker's for anybody.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here = self.here
        household = None if here.may("see", "duty-week") else household_of(here)
        try:
            duty = finish(building=here.building, duty_uid=uid, household=household, now=here.now)
        except Duty.DoesNotExist:
            raise Http404 from None
        return Response(duty_shape(duty, here.today))


class Take(BuildingView):
    rules = {"POST": Rule("take", "duty")}

    @extend_schema(
        request=None,
        responses={200: DutyOut, 401: Problem, 404: Problem, 422: Problem},
        description="Take a free place of a duty to come, or say of one that is open to all that you did it.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here = self.here
        try:
            duty = take(building=here.building, duty_uid=uid, household=household_of(here), now=here.now)
        except Duty.DoesNotExist:
            raise Http404 from None
        return Response(duty_shape(duty, here.today))


def cover_shape(cover: Cover, *, is_own: bool) -> dict[str, Any]:
    offers = cover.offers.select_related("duty__kind") if is_own and cover.closed_at is None else []
    return {
        "uid": cover.uid,
        "duty": cover.duty.uid,
        "work": cover.duty.kind.work,
        "day": cover.duty.day,
        "begins_at": cover.duty.begins_at,
        "is_own": is_own,
        "closed_at": cover.closed_at,
        "offers": [
            {"uid": one.uid, "duty": one.duty.uid, "work": one.duty.kind.work, "day": one.duty.day} for one in offers
        ],
    }


class Covers(BuildingView):
    rules = {"GET": Rule("see", "cover"), "POST": Rule("add", "cover")}

    @extend_schema(
        responses={200: CoverOut(many=True), 401: Problem, 404: Problem},
        description="Requests that nobody has taken yet: your own, and those of others, without a name.",
    )
    def get(self, request: Request) -> Response:
        here, household = self.here, household_of(self.here)
        site = site_of_household(here, household)
        others = open_covers(here.building, site, household, here.now) if site else []
        own = own_covers(here.building, household, here.now)
        return Response(
            [cover_shape(one, is_own=True) for one in own] + [cover_shape(one, is_own=False) for one in others]
        )

    @extend_schema(
        request=CoverIn,
        responses={200: CoverOut, 401: Problem, 404: Problem, 422: Problem},
        description="Ask for cover of one duty of yours. It stays yours until somebody takes it.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        told = CoverAsked.from_raw(as_mapping(request.data))
        cover = ask(building=here.building, household=household_of(here), told=told, now=here.now)
        return Response(cover_shape(cover, is_own=True))


class CoverAnswers(BuildingView):
    rules = {"POST": Rule("answer", "cover")}

    @extend_schema(
        request=CoverAnswerIn,
        responses={200: CoverOut, 401: Problem, 404: Problem, 422: Problem},
        description="take: you do it. offer: you do it in exchange. accept and withdraw: of your own request.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here, household = self.here, household_of(self.here)
        if not Cover.objects.within(here.building).filter(uid=uid).exists():
            raise Http404
        told = CoverAnswer.from_raw(as_mapping(request.data))
        try:
            cover = answer(building=here.building, cover_uid=uid, household=household, told=told, now=here.now)
        except Cover.DoesNotExist:
            raise Http404 from None
        return Response(cover_shape(cover, is_own=cover.household_id == household.pk))


class Limits(BuildingView):
    rules = {"GET": Rule("set", "duty-limits"), "POST": Rule("set", "duty-limits")}

    @extend_schema(
        responses={200: DutyLimitsShape, 401: Problem, 404: Problem}, description="What your household said."
    )
    def get(self, request: Request) -> Response:
        told = limits_of(self.here.building, household_of(self.here))
        return Response({"cannot_lift": told.cannot_lift, "carry_for_me": told.carry_for_me})

    @extend_schema(
        request=DutyLimitsShape,
        responses={200: DutyLimitsShape, 401: Problem, 404: Problem, 422: Problem},
        description="Light duties only; carry our pail. No reason is asked.",
    )
    def post(self, request: Request) -> Response:
        told = LimitsTold.from_raw(as_mapping(request.data))
        set_limits(building=self.here.building, household=household_of(self.here), told=told)
        return Response({"cannot_lift": told.cannot_lift, "carry_for_me": told.carry_for_me})


class StandIns(BuildingView):
    rules = {"GET": Rule("see", "stand-in"), "POST": Rule("set", "stand-in")}

    @extend_schema(
        responses={200: StandInOut, 401: Problem, 404: Problem},
        description="Who leads a site, who is away, who stands in, and whether intake pauses.",
    )
    def get(self, request: Request, site: UUID) -> Response:
        return Response(self._shape(site))

    @extend_schema(
        request=StandInIn,
        responses={200: StandInOut, 401: Problem, 404: Problem, 422: Problem},
        description="`what` says which of the other fields are read.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        found, raw = site_of(self.here, site), dict(as_mapping(request.data))
        leads = raw.get("leads")
        write(self.here, found, raw, leads if isinstance(leads, list) else [])
        return Response(self._shape(site))

    def _shape(self, uid: UUID) -> dict[str, Any]:
        here, site = self.here, site_of(self.here, uid)
        leads = Lead.objects.within(here.building).filter(site=site).select_related("person").order_by("number")
        away = LeadAway.objects.within(here.building).filter(lead__site=site, last_on__gte=here.today)
        stand_ins = StandIn.objects.within(here.building).filter(site=site, last_on__gte=here.today)
        handover = Handover.objects.within(here.building).filter(site=site).first()
        alone, pause = days_alone(here.building, here.today).get(site.pk, []), pause_of(here.building, site)
        return {
            "leads": [lead.person.uid for lead in leads],
            "away": [
                {"uid": row.uid, "person": row.lead.person.uid, "first": row.first_on, "last": row.last_on}
                for row in away.select_related("lead__person").order_by("first_on", "pk")
            ],
            "stand_ins": [
                {"uid": row.uid, "person": row.person.uid, "first": row.first_on, "last": row.last_on}
                for row in stand_ins.select_related("person").order_by("first_on", "pk")
            ],
            "handover": {name: getattr(handover, name, "") for name in ("keys", "gloves", "cut_off")},
            "alone_from": alone[0] if alone else None,
            "pause_from": pause.first_on if pause else None,
            "pause_began_on": pause.began_on if pause else None,
        }
