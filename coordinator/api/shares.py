"""A household's own shares, what it gives away and asks for, and the hand-out list with what was fetched."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.harvests.handout import Line, hand_out, open_splits
from bins.harvests.outgoing import Gift, PickUp, record_gift, record_pick_up
from bins.harvests.requests import Asked, ask, askable
from bins.harvests.sharing import fetched, given_away, of_household
from bins.models import Batch, Share
from bins.records import Reader, as_mapping
from households.giving import Wish, choose_gift
from households.models import LedgerRow

from ..access import Rule
from ..pages.handout import open_split
from ..pages.share import own_household
from ..pages.split import harvest_of
from .base import BuildingView
from .harvest_shapes import (
    AskableOut,
    GiftIn,
    HandOutOut,
    OutgoingOut,
    PickUpIn,
    ShareOut,
    ShareRequestIn,
    ShareRequestOut,
    ShareWishIn,
    ShareWishOut,
)
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
        went, gave = fetched(self.here.building, shares), given_away(self.here.building, shares)
        return Response([self._shape(share, went.get(share.pk, 0), gave.get(share.pk, 0)) for share in shares])

    def _shape(self, share: Share, given: int, gift: int) -> dict[str, Any]:
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
            "to_neighbours": share.to_neighbours,
            "given_millionths": given,
            "gift_millionths": gift,
            "pick_up_on": share.split.pick_up_on,
            "pick_up_until": share.split.pick_up_until,
            "pick_up_where": share.split.pick_up_where,
        }
        return {name: value for name, value in whole.items() if name in self.here.grant.fields}


class ShareWish(BuildingView):
    rules = {"POST": Rule("choose", "share")}

    @extend_schema(
        request=ShareWishIn,
        responses={200: ShareWishOut, 401: Problem, 404: Problem, 422: Problem},
        description="Whether your household's next shares are kept, go to the beds, or are divided among the others. "
        "Saying it twice changes nothing.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        person = here.actor.person
        assert person is not None  # the rule asks for a resident
        reader = Reader(as_mapping(request.data))
        wish = reader.choice("wish", [*Wish])
        reader.finish()
        household = choose_gift(
            building=here.building, household=own_household(here), wish=wish, by=person, now=here.now
        )
        return Response({"wish": Wish.of(household).value})


class Gifts(BuildingView):
    rules = {"POST": Rule("give", "share")}

    @extend_schema(
        request=GiftIn,
        responses={200: OutgoingOut, 201: OutgoingOut, 401: Problem, 404: Problem, 422: Problem},
        description="Give tubs of your share that waits to be fetched to the beds or to neighbours.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        try:
            done = record_gift(
                building=here.building,
                household=own_household(here),
                told=Gift.from_raw(as_mapping(request.data)),
                person=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except Share.DoesNotExist:
            raise Http404 from None
        return Response(outgoing_shape(done.row, here.grant.fields), status=201 if done.is_new else 200)


class Requests(BuildingView):
    rules = {"GET": Rule("ask", "share"), "POST": Rule("ask", "share")}

    @extend_schema(
        responses={200: AskableOut(many=True), 401: Problem, 404: Problem},
        description="Lots whose rule goes by requests and that aren't shared out yet, with your newest word.",
    )
    def get(self, request: Request) -> Response:
        found = askable(self.here.building, own_household(self.here))
        return Response([{"batch": one.batch.uid, "tubs": one.tubs} for one in found])

    @extend_schema(
        request=ShareRequestIn,
        responses={200: ShareRequestOut, 201: ShareRequestOut, 401: Problem, 404: Problem, 422: Problem},
        description="Ask for tubs of a lot. The newest word counts, until it is shared out.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        try:
            done = ask(
                building=here.building,
                household=own_household(here),
                told=Asked.from_raw(as_mapping(request.data)),
                person=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except Batch.DoesNotExist:
            raise Http404 from None
        row = done.row
        whole = {"uid": row.uid, "batch": row.batch.uid, "tubs": row.tubs, "via": row.via, "doubt": row.doubt}
        shape = {name: value for name, value in whole.items() if name in here.grant.fields}
        return Response(shape, status=201 if done.is_new else 200)


def line_shape(line: Line, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "harvest": line.share.split.harvest.uid,
        "share": line.share.uid,
        "household": line.household.label,
        "tubs": line.share.tubs,
        "given_millionths": line.given,
        "gift_millionths": line.gift,
        "unclaimed_millionths": line.unclaimed,
    }
    return {name: value for name, value in whole.items() if name in fields}


class HandOutDay(BuildingView):
    rules = {"GET": Rule("see", "hand-out")}

    @extend_schema(
        responses={200: HandOutOut(many=True), 401: Problem, 404: Problem},
        description="Who fetches what today, of all harvests that are being handed out.",
    )
    def get(self, request: Request) -> Response:
        here = self.here
        lines = hand_out(here.building, *open_splits(here.building, here.today))
        return Response([line_shape(line, here.grant.fields) for line in lines])


class HandOut(BuildingView):
    rules = {"GET": Rule("see", "hand-out"), "POST": Rule("add", "pick-up")}

    @extend_schema(
        responses={200: HandOutOut(many=True), 401: Problem, 404: Problem},
        description="Who gets how many tubs, from the split until a week after the last day.",
    )
    def get(self, request: Request, harvest: UUID) -> Response:
        split = open_split(self.here, harvest_of(self.here, harvest))
        return Response([line_shape(line, self.here.grant.fields) for line in hand_out(self.here.building, split)])

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
