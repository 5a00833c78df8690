"""Holding buckets: which there are, what goes in, and when one is emptied."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.intake.bucket_filling import empty, put_in
from bins.intake.buckets import BucketState, BucketTold, add_bucket, states
from bins.intake.dropoff import DropOff
from bins.models import Bucket
from bins.records import Reader, as_mapping
from households.models import LedgerRow

from ..access import Rule
from ..pages.buckets import seen
from .base import BuildingView
from .mix_shapes import BucketFillIn, BucketIn, BucketOut, BucketPourIn
from .shapes import Problem


def shape(state: BucketState, fields: frozenset[str]) -> dict[str, Any]:
    bucket, mix = state.bucket, state.mix
    whole = {
        "uid": bucket.uid,
        "name": bucket.name,
        "drum": bucket.drum.uid,
        "shared": bucket.household_id is None,
        "millilitres": bucket.millilitres,
        "bedding": bucket.bedding,
        "bedding_ml": bucket.bedding_ml,
        "percent": state.percent,
        "scraps_g": state.scraps_g,
        "drop_offs": state.drop_offs,
        "moisture_percent": round(100 * mix.moisture, 1) if mix else None,
        "advice": state.advice,
    }
    return {name: value for name, value in whole.items() if name in fields}


class OfBuckets(BuildingView):
    def one(self, uid: UUID) -> Bucket:
        bucket: Bucket | None = seen(self.here).filter(uid=uid).first()
        if bucket is None:
            raise Http404
        return bucket

    def answer(self, bucket: Bucket, status: int = 200) -> Response:
        (state,) = states(self.here.building, [bucket])
        return Response(shape(state, self.here.grant.fields), status=status)


class Buckets(OfBuckets):
    rules = {"GET": Rule("see", "bucket"), "POST": Rule("set", "bucket")}

    @extend_schema(responses={200: BucketOut(many=True), 401: Problem, 404: Problem})
    def get(self, request: Request) -> Response:
        found = states(self.here.building, seen(self.here))
        return Response([shape(state, self.here.grant.fields) for state in found])

    @extend_schema(request=BucketIn, responses={200: BucketOut, 401: Problem, 404: Problem, 422: Problem})
    def post(self, request: Request) -> Response:
        told = BucketTold.from_raw(as_mapping(request.data))
        return self.answer(add_bucket(building=self.here.building, told=told, now=self.here.now))


class Fill(OfBuckets):
    rules = {"POST": Rule("fill", "bucket")}

    @extend_schema(
        request=BucketFillIn,
        responses={200: BucketOut, 201: BucketOut, 401: Problem, 404: Problem, 422: Problem},
        description="Put scraps of your household into a bucket; they count when it is emptied. 201 the first time.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        bucket, person = self.one(uid), self.here.actor.person
        recorded = put_in(
            building=self.here.building,
            bucket_uid=uid,
            told=DropOff.from_raw({**as_mapping(request.data), "drum": str(bucket.drum.uid)}),
            household=person.household if person else None,
            person=person,
            via=LedgerRow.Via.API,
            now=self.here.now,
        )
        return self.answer(bucket, 201 if recorded.is_new else 200)


class Pour(OfBuckets):
    rules = {"POST": Rule("empty", "bucket")}

    @extend_schema(
        request=BucketPourIn,
        responses={200: BucketOut, 201: BucketOut, 401: Problem, 404: Problem, 422: Problem},
        description="Empty a bucket into the open hatch: what waits in it counts for that batch. 201 the first time.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        bucket, person = self.one(uid), self.here.actor.person
        reader = Reader(as_mapping(request.data))
        record = reader.uid()
        reader.finish()
        emptied = empty(
            building=self.here.building,
            uid=record,
            bucket_uid=uid,
            household=person.household if person else None,
            person=person,
            via=LedgerRow.Via.API,
            now=self.here.now,
        )
        return self.answer(bucket, 201 if emptied.is_new else 200)
