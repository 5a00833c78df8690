"""What came out: measure it, share it out, write down what was lost, take either back."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.harvests.balance import Balance, CameOut, balance, balances, came_out
from bins.harvests.harvest import record_harvest
from bins.harvests.measured import Measured
from bins.harvests.outgoing import Loss, record_loss, undo
from bins.harvests.parts import record_part, take_part_back
from bins.harvests.sharing import Sharing, finalise
from bins.harvests.split_figures import split_figures
from bins.models import Batch, Harvest, HarvestPart, Outgoing
from bins.records import as_mapping
from households.models import LedgerRow

from ..access import Rule
from ..pages.split import harvest_of
from .base import BuildingView
from .harvest_shapes import HarvestIn, HarvestOut, LossIn, OutgoingOut, PartIn, PartOut, SplitIn, SplitOut
from .shapes import Problem

PAGE = 100


def harvest_shape(row: Harvest, standing: Balance, out: CameOut, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "uid": row.uid,
        "batch": row.batch.uid,
        "happened_at": row.happened_at,
        "was_ready": row.was_ready,
        "whole_tubs": row.whole_tubs,
        "part_millionths": row.part_millionths,
        "tub_ml": row.tub_ml,
        "weighed_g": row.weighed_g,
        "tub_empty_g": row.tub_empty_g,
        "tub_water_g": row.tub_water_g,
        "tub_full_g": row.tub_full_g,
        "overs_ml": row.overs_ml,
        "harvested_millionths": standing.harvested,
        "harvested_ml": out.millilitres,
        "harvested_g": out.weighed_g,
        "parts": out.parts,
        "given_millionths": standing.given,
        "reserve_millionths": standing.reserve,
        "gift_millionths": standing.gift,
        "unclaimed_millionths": standing.unclaimed,
        "lost_millionths": standing.lost,
        "waiting_millionths": standing.waiting,
        "via": row.via,
        "doubt": row.doubt,
    }
    return {name: value for name, value in whole.items() if name in fields}


def outgoing_shape(row: Outgoing, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "uid": row.uid,
        "happened_at": row.happened_at,
        "harvest": row.harvest.uid,
        "share": row.share.uid if row.share else None,
        "kind": row.kind,
        "loss": row.loss,
        "gift_to": row.gift_to,
        "millionths": row.millionths,
        "reverses": row.reverses.uid if row.reverses else None,
        "via": row.via,
        "doubt": row.doubt,
    }
    return {name: value for name, value in whole.items() if name in fields}


class Harvests(BuildingView):
    rules = {"GET": Rule("see", "harvest"), "POST": Rule("add", "harvest")}

    @extend_schema(
        responses={200: HarvestOut(many=True), 401: Problem, 404: Problem},
        description="Harvests as measured, newest first, 100 at most. The six parts add up to what was harvested.",
    )
    def get(self, request: Request) -> Response:
        rows = list(
            Harvest.objects.within(self.here.building)
            .filter(reverses__isnull=True, reversed_by__isnull=True)
            .select_related("batch")
            .order_by("-ledger_number")[:PAGE]
        )
        standing, out = balances(self.here.building, rows), came_out(self.here.building, rows)
        fields = self.here.grant.fields
        return Response([harvest_shape(row, standing[row.pk], out[row.pk], fields) for row in rows])

    @extend_schema(
        request=HarvestIn,
        responses={200: HarvestOut, 201: HarvestOut, 401: Problem, 404: Problem, 422: Problem},
        description="Take a batch out. `corrects` names the measurement that this one takes the place of.",
    )
    def post(self, request: Request) -> Response:
        here, raw = self.here, as_mapping(request.data)
        told = Measured.from_raw({**raw, "more": ""})  # a part has an address of its own
        try:
            done = record_harvest(
                building=here.building,
                batch_uid=UUID(str(raw.get("batch"))),
                told=told,
                person=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except (Batch.DoesNotExist, ValueError):
            raise Http404 from None
        out = came_out(here.building, [done.row])[done.row.pk]
        shape = harvest_shape(done.row, balance(here.building, done.row), out, here.grant.fields)
        return Response(shape, status=201 if done.is_new else 200)


def part_shape(row: HarvestPart, fields: frozenset[str]) -> dict[str, Any]:
    whole = {
        "uid": row.uid,
        "batch": row.batch.uid,
        "happened_at": row.happened_at,
        "whole_tubs": row.whole_tubs,
        "part_millionths": row.part_millionths,
        "tub_ml": row.tub_ml,
        "weighed_g": row.weighed_g,
        "tub_empty_g": row.tub_empty_g,
        "tub_water_g": row.tub_water_g,
        "tub_full_g": row.tub_full_g,
        "overs_ml": row.overs_ml,
        "via": row.via,
        "doubt": row.doubt,
    }
    return {name: value for name, value in whole.items() if name in fields}


class Parts(BuildingView):
    rules = {"POST": Rule("add", "harvest")}

    @extend_schema(
        request=PartIn,
        responses={200: PartOut, 201: PartOut, 401: Problem, 404: Problem, 422: Problem},
        description="Measure a part of a batch by itself: while more is inside, or found after it was taken out. It "
        "counts with the batch's harvest.",
    )
    def post(self, request: Request) -> Response:
        here, raw = self.here, as_mapping(request.data)
        told = Measured.from_raw({**raw, "more": "yes", "is_empty": ""})
        try:
            done = record_part(
                building=here.building,
                batch_uid=UUID(str(raw.get("batch"))),
                told=told,
                person=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except (Batch.DoesNotExist, ValueError):
            raise Http404 from None
        return Response(part_shape(done.row, here.grant.fields), status=201 if done.is_new else 200)


class PartUndo(BuildingView):
    rules = {"POST": Rule("add", "harvest")}

    @extend_schema(
        request=None,
        responses={200: PartOut, 401: Problem, 404: Problem, 422: Problem},
        description="Take a part back. The answer is the row that reverses it.",
    )
    def post(self, request: Request, part: UUID) -> Response:
        here = self.here
        try:
            row = take_part_back(
                building=here.building, uid=part, person=here.actor.person, via=LedgerRow.Via.API, now=here.now
            )
        except HarvestPart.DoesNotExist:
            raise Http404 from None
        return Response(part_shape(row, here.grant.fields))


class OneSplit(BuildingView):
    rules = {"GET": Rule("see", "harvest"), "POST": Rule("add", "split")}

    @extend_schema(
        responses={200: SplitOut, 401: Problem, 404: Problem},
        description="How a harvest is shared out, or would be at this moment (`is_final` false). Breakdowns under "
        "five households are withheld.",
    )
    def get(self, request: Request, harvest: UUID) -> Response:
        return Response(self._shape(harvest_of(self.here, harvest)))

    @extend_schema(
        request=SplitIn,
        responses={200: SplitOut, 201: SplitOut, 401: Problem, 404: Problem, 422: Problem},
        description="Share it out, once. `mark` is that of the preview that was looked at: if something was "
        "written down since, nothing is done. Asked again, the answer is the split that stands.",
    )
    def post(self, request: Request, harvest: UUID) -> Response:
        here, row = self.here, harvest_of(self.here, harvest)
        done = finalise(
            building=here.building,
            harvest_uid=row.uid,
            told=Sharing.from_raw(as_mapping(request.data)),
            person=here.actor.person,
            via=LedgerRow.Via.API,
            now=here.now,
        )
        return Response(self._shape(row), status=201 if done.is_new else 200)

    def _shape(self, row: Harvest) -> dict[str, Any]:
        told = split_figures(self.here.building, row, self.here.today)
        final = told.final
        whole = {
            "harvest": row.uid,
            "is_final": final is not None,
            "mark": told.mark or None,
            "given_tubs": told.given_tubs,
            "beds_millionths": told.beds_millionths,
            "given_up_tubs": told.given_up_tubs,
            "households": told.groups.households,
            "groups": [{"households": group.households, "tubs": group.tubs} for group in told.groups.groups],
            "withheld_groups": told.groups.withheld,
            "tied": told.tied,
            "served": told.served,
            "pick_up_on": final.pick_up_on if final else None,
            "pick_up_until": final.pick_up_until if final else None,
            "pick_up_where": final.pick_up_where if final else None,
            "would_move_tubs": told.late.moved_tubs if told.late else 0,
        }
        return {name: value for name, value in whole.items() if name in self.here.grant.fields}


class Losses(BuildingView):
    rules = {"POST": Rule("add", "loss")}

    @extend_schema(
        request=LossIn,
        responses={200: OutgoingOut, 201: OutgoingOut, 401: Problem, 404: Problem, 422: Problem},
        description="Write down what is gone of a harvest: never more than waits there.",
    )
    def post(self, request: Request, harvest: UUID) -> Response:
        here, row = self.here, harvest_of(self.here, harvest)
        done = record_loss(
            building=here.building,
            harvest_uid=row.uid,
            told=Loss.from_raw(as_mapping(request.data)),
            person=here.actor.person,
            via=LedgerRow.Via.API,
            now=here.now,
        )
        return Response(outgoing_shape(done.row, here.grant.fields), status=201 if done.is_new else 200)


class TakeBack(BuildingView):
    rules = {"POST": Rule("undo", "outgoing")}

    @extend_schema(
        request=None,
        responses={200: OutgoingOut, 401: Problem, 404: Problem},
        description="Take back a pick-up or a loss. The answer is the row that reverses it.",
    )
    def post(self, request: Request, outgoing: UUID) -> Response:
        here = self.here
        try:
            row = undo(
                building=here.building, uid=outgoing, person=here.actor.person, via=LedgerRow.Via.API, now=here.now
            )
        except Outgoing.DoesNotExist:
            raise Http404 from None
        return Response(outgoing_shape(row, here.grant.fields))
