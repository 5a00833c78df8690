"""A household's own shares, its wish to give them to the beds, and the hand-out list with what was fetched."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.harvests.handout import hand_out
from bins.harvests.outgoing import PickUp, record_pick_up
from bins.harvests.sharing import fetched, of_household
from bins.models import Share
from bins.records import Reader, as_mapping
from households.giving import choose_garden
from households.models import LedgerRow

from ..access import Rule
from ..pages.handout import open_split
from ..pages.share import own_household
from ..pages.split import harvest_of
from .base import BuildingView
from .harvest_shapes import GardenIn, GardenOut, HandOutOut, OutgoingOut, PickUpIn, ShareOut
from .harvests import outgoing_shape
from .shapes import Problem


class Shares(BuildingView):
    rules = {"GET": Rule("see", "share")}

    @extend_schema(
        responses={200: ShareOut(many=True), 401: Problem, 404: Problem},
        description="Your household's shares, newest first. credit_after = credit_before + due - tubs.",
    )
    def get(self, request: Request) -> Response:
        shares = of_household(self.here.building, own_household(self.here))
        went = fetched(self.here.building, shares)
        return Response([self._shape(share, went.get(share.pk, 0)) for share in shares])

    def _shape(self, share: Share, given: int) -> dict[str, Any]:
        whole = {
            "uid": share.uid,
            "harvest": share.split.harvest.uid,
            "shared_at": share.counts_at,
            "due_millionths": share.due_millionths,
            "credit_before_millionths": share.credit_before_millionths,
            "tubs": share.tubs,
            "credit_after_millionths": share.credit_after_millionths,
            "tub_ml": share.split.harvest.tub_ml,
            "to_garden": share.to_garden,
            "given_millionths": given,
            "pick_up_on": share.split.pick_up_on,
            "pick_up_until": share.split.pick_up_until,
            "pick_up_where": share.split.pick_up_where,
        }
        return {name: value for name, value in whole.items() if name in self.here.grant.fields}


class Garden(BuildingView):
    rules = {"POST": Rule("choose", "share")}

    @extend_schema(
        request=GardenIn,
        responses={200: GardenOut, 401: Problem, 404: Problem, 422: Problem},
        description="Whether your household's next shares go to the beds. Saying it twice changes nothing.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        person = here.actor.person
        assert person is not None  # the rule asks for a resident
        reader = Reader(as_mapping(request.data))
        gives = reader.yes("gives")
        reader.finish()
        household = choose_garden(
            building=here.building, household=own_household(here), gives=gives, by=person, now=here.now
        )
        return Response({"gives": household.gives_to_garden})


class HandOut(BuildingView):
    rules = {"GET": Rule("see", "hand-out"), "POST": Rule("add", "pick-up")}

    @extend_schema(
        responses={200: HandOutOut(many=True), 401: Problem, 404: Problem},
        description="Who gets how many tubs, from the split until a week after the last day.",
    )
    def get(self, request: Request, harvest: UUID) -> Response:
        split = open_split(self.here, harvest_of(self.here, harvest))
        lines = [
            {
                "share": line.share.uid,
                "household": line.household.label,
                "tubs": line.share.tubs,
                "given_millionths": line.given,
                "unclaimed_millionths": line.unclaimed,
            }
            for line in hand_out(self.here.building, split)
        ]
        fields = self.here.grant.fields
        return Response([{name: value for name, value in line.items() if name in fields} for line in lines])

    @extend_schema(
        request=PickUpIn,
        responses={200: OutgoingOut, 201: OutgoingOut, 401: Problem, 404: Problem, 422: Problem},
        description="Write down what was fetched of a share: all that is left of it, unless `tubs` says less.",
    )
    def post(self, request: Request, harvest: UUID) -> Response:
        here = self.here
        split = open_split(here, harvest_of(here, harvest))
        told = PickUp.from_raw(as_mapping(request.data))
        if not Share.objects.within(here.building).filter(uid=told.share_uid, split=split).exists():
            raise Http404
        done = record_pick_up(
            building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.API, now=here.now
        )
        return Response(outgoing_shape(done.row, here.grant.fields), status=201 if done.is_new else 200)
