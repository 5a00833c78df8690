"""A household's own plans: absences, wishes, how it is reminded, and its calendar's address."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.records import Refused, as_mapping
from bins.slots.absences import Away, note_absence, withdraw_absence
from bins.slots.contact import Contact, end_feed, new_feed, set_contact
from bins.slots.wishes import PREFIX, Wishes, set_wishes, wishes_of
from households.models import Absence, FeedKey, Person, Slot

from ..access import Reach, Rule
from ..pages.contact import feed_address
from ..pages.plan import household_of, own_absence
from .base import BuildingView
from .shapes import Problem
from .slot_shapes import AbsenceOut, AddressOut, ContactIn, ContactOut, SpanIn, WishesIn, WishesOut


class OfPlans(BuildingView):
    def kept(self, values: dict[str, Any]) -> dict[str, Any]:
        """What the grant lets through."""
        return {name: value for name, value in values.items() if name in self.here.grant.fields}

    def absence_out(self, row: Absence) -> dict[str, Any]:
        return self.kept(
            {"uid": row.uid, "first_day": row.first_day, "last_day": row.last_day, "household": row.household.uid}
        )

    @property
    def person(self) -> Person:
        assert self.here.actor.person is not None  # the rules ask for a resident
        return self.here.actor.person


class Absences(OfPlans):
    rules = {"GET": Rule("see", "absence"), "POST": Rule("set", "absence")}

    @extend_schema(
        responses={200: AbsenceOut(many=True), 401: Problem, 404: Problem},
        description="Those that are not over: your household's, or all for whoever plans. Never a reason.",
    )
    def get(self, request: Request) -> Response:
        rows = Absence.objects.within(self.here.building).filter(last_day__gte=self.here.today)
        if self.here.grant.reach is Reach.OWN:
            rows = rows.filter(household=household_of(self.here))
        rows = rows.select_related("household").order_by("first_day", "pk")
        return Response([self.absence_out(row) for row in rows])

    @extend_schema(
        request=SpanIn,
        responses={200: AbsenceOut, 201: AbsenceOut, 401: Problem, 404: Problem, 422: Problem},
        description="Your household is away. Its bookings of those days are free for others.",
    )
    def post(self, request: Request) -> Response:
        told = Away.from_raw(as_mapping(request.data))
        noted = note_absence(
            building=self.here.building, household=household_of(self.here), told=told, now=self.here.now
        )
        return Response(self.absence_out(noted.row), status=201 if noted.is_new else 200)


class RemoveAbsence(OfPlans):
    rules = {"POST": Rule("set", "absence")}

    @extend_schema(request=None, responses={204: None, 401: Problem, 404: Problem})
    def post(self, request: Request, uid: UUID) -> Response:
        withdraw_absence(building=self.here.building, row=own_absence(self.here, uid))
        return Response(status=204)


class HouseholdWishes(OfPlans):
    rules = {"GET": Rule("see", "plan"), "POST": Rule("set", "plan")}

    @extend_schema(responses={200: WishesOut, 401: Problem, 404: Problem})
    def get(self, request: Request) -> Response:
        return self._answer()

    @extend_schema(
        request=WishesIn,
        responses={200: WishesOut, 401: Problem, 404: Problem, 422: Problem},
        description="What is not named stays as it was, but for visits_in_four_weeks: absent means not told.",
    )
    def post(self, request: Request) -> Response:
        data = as_mapping(request.data)
        told = data.get("wishes") or []
        if not isinstance(told, list) or not all(isinstance(one, dict) for one in told):
            raise Refused({"wishes": _("A list of wishes, each with uid and answer, is needed.")})
        answers = {f"{PREFIX}{one.get('uid')}": one.get("answer") for one in told}
        wishes = Wishes.from_raw({"visits_in_four_weeks": data.get("visits_in_four_weeks")} | answers)
        set_wishes(building=self.here.building, household=household_of(self.here), told=wishes, now=self.here.now)
        return self._answer()

    def _answer(self) -> Response:
        household = household_of(self.here)
        asked = wishes_of(self.here.building, household, self.here.today)
        by_kind: dict[bool, list[dict[str, Any]]] = {True: [], False: []}
        for one in asked:
            by_kind[isinstance(one.thing, Slot)].append({"uid": one.thing.uid, "answer": one.answer})
        values = {
            "visits_in_four_weeks": household.visits_in_four_weeks,
            "slots": by_kind[True],
            "duties": by_kind[False],
        }
        return Response({name: value for name, value in values.items() if name in self.here.grant.fields})


class OwnContact(OfPlans):
    rules = {"GET": Rule("see", "contact"), "POST": Rule("set", "contact")}

    @extend_schema(responses={200: ContactOut, 401: Problem, 404: Problem})
    def get(self, request: Request) -> Response:
        return self._answer()

    @extend_schema(request=ContactIn, responses={200: ContactOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request) -> Response:
        told = Contact.from_raw(as_mapping(request.data))
        set_contact(building=self.here.building, person=self.person, told=told)
        return self._answer()

    def _answer(self) -> Response:
        has_calendar = FeedKey.objects.within(self.here.building).filter(person=self.person).exists()
        return Response(
            self.kept({"channel": self.person.channel, "phone": self.person.phone, "has_calendar": has_calendar})
        )


class FeedAddress(OfPlans):
    rules = {"POST": Rule("set", "feed")}

    @extend_schema(request=None, responses={201: AddressOut, 401: Problem, 404: Problem})
    def post(self, request: Request) -> Response:
        secret = new_feed(building=self.here.building, person=self.person, now=self.here.now)
        return Response(self.kept({"address": feed_address(request._request, self.here, secret)}), status=201)


class EndFeed(OfPlans):
    rules = {"POST": Rule("set", "feed")}

    @extend_schema(request=None, responses={204: None, 401: Problem, 404: Problem})
    def post(self, request: Request) -> Response:
        end_feed(building=self.here.building, person=self.person, now=self.here.now)
        return Response(status=204)
