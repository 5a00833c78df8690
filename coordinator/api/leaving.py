"""A household moves out."""

from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.people.moving_out import Leaving, move_out
from bins.records import as_mapping
from households.models import LedgerRow

from ..access import Rule
from ..pages.leave import household_of
from .base import BuildingView
from .entry_shapes import LeaveIn, LeaveOut
from .shapes import Problem


class Leave(BuildingView):
    rules = {"POST": Rule("leave", "household")}

    @extend_schema(
        request=LeaveIn,
        responses={200: LeaveOut, 401: Problem, 404: Problem, 422: Problem},
        description="Set the last day of a household: your own, or any for the caretaker. Amounts stay in the books "
        "without a name; names, accounts that nobody else uses, keys and the card go, at once or once nothing waits.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        here = self.here
        household = household_of(here, uid)
        departure = move_out(
            building=here.building,
            household=household,
            told=Leaving.from_raw(as_mapping(request.data)),
            person=here.actor.person,
            via=LedgerRow.Via.API,
            now=here.now,
        )
        whole = {
            "household": household.uid,
            "last_day": departure.last_day,
            "share": departure.share,
            "is_forgotten": departure.forgotten_at is not None,
        }
        return Response({name: value for name, value in whole.items() if name in here.grant.fields})
