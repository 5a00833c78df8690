"""Set times and closed days; what is ahead, for everybody; and a household's own bookings."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.records import Reader, Refused, as_mapping
from bins.slots.ahead import BOOK_AHEAD_DAYS, Occurrence, occurrences
from bins.slots.booking import WantsSlot, book, cancel, of_household
from bins.slots.closures import ClosedDays, close_days, closures_ahead, open_days
from bins.slots.proxy import ForSomebody, book_for, booked_for_others, household_told
from bins.slots.slots import Hours, NewSlot, add_slot, change_hours, end_slot
from households.models import Booking, Closure, Household, Site, Slot

from ..access import Rule
from ..pages.book_for import proxy_booking
from ..pages.mine import own_booking
from ..pages.plan import household_of
from ..pages.slot_setup import closure_of, slot_of
from .base import BuildingView
from .shapes import Problem
from .slot_shapes import (
    BookingIn,
    BookingOnBehalfIn,
    BookingOnBehalfOut,
    BookingOut,
    ClosureIn,
    ClosureOut,
    HoursIn,
    OccurrenceOut,
    SlotIn,
    SlotOut,
)


class OfSlots(BuildingView):
    def kept(self, values: dict[str, Any]) -> dict[str, Any]:
        """What the grant lets through."""
        return {name: value for name, value in values.items() if name in self.here.grant.fields}

    def site(self, data: Any) -> Site:
        """The site that a body names; Refused for none of this building."""
        reader = Reader(as_mapping(data))
        uid = reader.uid("site")
        found: Site | None = Site.objects.within(self.here.building).filter(uid=uid).first()
        if found is None:
            raise Refused({"site": _("Which place?")})
        return found

    def slot_out(self, slot: Slot) -> dict[str, Any]:
        return self.kept(
            {
                "uid": slot.uid,
                "site": slot.site.uid,
                "name": slot.name,
                "rule": slot.rule,
                "starts_on": slot.starts_on,
                "begins_at": f"{slot.begins_at:%H:%M}",
                "minutes": slot.minutes,
                "households": slot.households,
                "pails": None if slot.quarter_pails is None else slot.quarter_pails / 4,
                "rests_in_winter": slot.rests_in_winter,
                "last_day": slot.last_day,
            }
        )

    def closure_out(self, closure: Closure) -> dict[str, Any]:
        return self.kept(
            {
                "uid": closure.uid,
                "site": closure.site.uid,
                "first_day": closure.first_day,
                "last_day": closure.last_day,
                "words": closure.words,
                "each_year": closure.is_yearly,
            }
        )

    def booking_out(self, row: Booking) -> dict[str, Any]:
        return self.kept(
            {
                "uid": row.uid,
                "household": row.household.uid,
                "slot": row.slot.uid,
                "day": row.occurs_on,
                "begins_at": row.begins_at,
                "ends_at": row.ends_at,
                "drum": row.lane,
                "quarter_pails": row.quarter_pails,
                "state": row.state,
                "cause": row.cause,
            }
        )


class Slots(OfSlots):
    rules = {"GET": Rule("see", "slot"), "POST": Rule("set", "slot")}

    @extend_schema(
        parameters=[OpenApiParameter("from", dt.date, description="The first of seven days; today, if absent.")],
        responses={200: OccurrenceOut(many=True), 404: Problem, 422: Problem},
        description="What is ahead on seven days, with free places. Never who comes, or how many.",
    )
    def get(self, request: Request) -> Response:
        reader, today = Reader(request.query_params), self.here.today
        first = max(reader.day("from") or today, today)
        reader.finish()
        last = min(first + dt.timedelta(days=6), today + dt.timedelta(days=BOOK_AHEAD_DAYS))
        return Response([self._ahead(one) for one in occurrences(self.here.building, first, last, self.here.now)])

    @extend_schema(request=SlotIn, responses={200: SlotOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request) -> Response:
        slot = add_slot(
            building=self.here.building,
            site=self.site(request.data),
            told=NewSlot.from_raw(as_mapping(request.data)),
            person=self.here.actor.person,
            now=self.here.now,
        )
        return Response(self.slot_out(slot))

    def _ahead(self, one: Occurrence) -> dict[str, Any]:
        return self.kept(
            {
                "slot": one.slot.uid,
                "site": one.slot.site.uid,
                "name": one.slot.name,
                "day": one.day,
                "begins_at": one.begins_at,
                "ends_at": one.ends_at,
                "free": one.free,
                "out": one.out,
                "words": one.words,
                "is_off": one.is_off,
            }
        )


class OneSlot(OfSlots):
    rules = {"POST": Rule("set", "slot")}

    @extend_schema(
        request=HoursIn,
        responses={200: SlotOut, 401: Problem, 404: Problem, 422: Problem},
        description="Another hour, length or room. Who is booked moves along and is told.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        slot = slot_of(self.here, uid)
        told = Hours.from_raw(as_mapping(request.data))
        person, now = self.here.actor.person, self.here.now
        return Response(
            self.slot_out(change_hours(building=self.here.building, slot=slot, told=told, person=person, now=now))
        )


class EndSlot(OfSlots):
    rules = {"POST": Rule("set", "slot")}

    @extend_schema(request=None, responses={200: SlotOut, 401: Problem, 404: Problem})
    def post(self, request: Request, uid: UUID) -> Response:
        slot = slot_of(self.here, uid)
        ended = end_slot(building=self.here.building, slot=slot, person=self.here.actor.person, now=self.here.now)
        return Response(self.slot_out(ended))


class Bookings(OfSlots):
    rules = {"GET": Rule("see", "booking"), "POST": Rule("add", "booking")}

    @extend_schema(responses={200: BookingOut(many=True), 401: Problem, 404: Problem})
    def get(self, request: Request) -> Response:
        rows = of_household(self.here.building, self._home(), self.here.now)
        return Response([self.booking_out(row) for row in rows])

    @extend_schema(
        request=BookingIn,
        responses={200: BookingOut, 201: BookingOut, 401: Problem, 404: Problem, 422: Problem},
        description="Keep a place for your household. 201 the first time, 200 for the same record again.",
    )
    def post(self, request: Request) -> Response:
        told = WantsSlot.from_raw(as_mapping(request.data))
        booked = book(building=self.here.building, told=told, household=self._home(), now=self.here.now)
        return Response(self.booking_out(booked.row), status=201 if booked.is_new else 200)

    def _home(self) -> Household:
        return household_of(self.here)


class CancelBooking(OfSlots):
    rules = {"POST": Rule("cancel", "booking")}

    @extend_schema(request=None, responses={200: BookingOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request, uid: UUID) -> Response:
        row = cancel(building=self.here.building, row=own_booking(self.here, uid), now=self.here.now)
        return Response(self.booking_out(row))


class BookingsOnBehalf(OfSlots):
    rules = {"GET": Rule("add", "booking-on-behalf"), "POST": Rule("add", "booking-on-behalf")}

    @extend_schema(
        responses={200: BookingOnBehalfOut(many=True), 401: Problem, 404: Problem},
        description="What was booked on somebody's behalf and is not over. What was taken out since is there as well, "
        "with its cause: somebody has to tell them.",
    )
    def get(self, request: Request) -> Response:
        return Response([self.booking_out(row) for row in booked_for_others(self.here.building, self.here.now)])

    @extend_schema(
        request=BookingOnBehalfIn,
        responses={200: BookingOnBehalfOut, 201: BookingOnBehalfOut, 401: Problem, 404: Problem, 422: Problem},
        description="Keep a place for a household without a phone, named by its uid or its card. 201 the first time, "
        "200 for the same record again.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        told = ForSomebody.from_raw(household_told(here.building, as_mapping(request.data)))
        booked = book_for(building=here.building, told=told, person=here.actor.person, now=here.now)
        return Response(self.booking_out(booked.row), status=201 if booked.is_new else 200)


class CancelOnBehalf(OfSlots):
    rules = {"POST": Rule("add", "booking-on-behalf")}

    @extend_schema(request=None, responses={200: BookingOnBehalfOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request, uid: UUID) -> Response:
        row = cancel(building=self.here.building, row=proxy_booking(self.here, uid), now=self.here.now)
        return Response(self.booking_out(row))


class Closures(OfSlots):
    rules = {"GET": Rule("see", "slot"), "POST": Rule("set", "closure")}

    @extend_schema(responses={200: ClosureOut(many=True), 404: Problem})
    def get(self, request: Request) -> Response:
        rows = closures_ahead(self.here.building, self.here.today)
        return Response([self.closure_out(row) for row in rows])

    @extend_schema(request=ClosureIn, responses={200: ClosureOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request) -> Response:
        closure = close_days(
            building=self.here.building,
            site=self.site(request.data),
            told=ClosedDays.from_raw(as_mapping(request.data)),
            person=self.here.actor.person,
            now=self.here.now,
        )
        return Response(self.closure_out(closure))


class OpenDays(OfSlots):
    rules = {"POST": Rule("set", "closure")}

    @extend_schema(request=None, responses={204: None, 401: Problem, 404: Problem})
    def post(self, request: Request, uid: UUID) -> Response:
        closure = closure_of(self.here, uid)
        open_days(building=self.here.building, closure=closure, person=self.here.actor.person, now=self.here.now)
        return Response(status=204)
