"""The cash list: its rows and figures, writing down, taking back, paying back, a second look, the limit."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from functools import partial
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from bins.money.approving import Limit, approve, set_limit
from bins.money.cash import Back as PaidBack
from bins.money.cash import Cash, decimals_here, pay_back, record_money, undo_money
from bins.months.figures import month as month_figures
from bins.photos import MOST_SENT_BYTES, encode_all, photos_of
from bins.records import Reader, as_mapping
from households.cash_book import money_month, owed_rows
from households.currency import currency_of
from households.models import Building, LedgerRow, Money, MoneyAttribution, Photo

from ..access import Rule
from ..month_money import cost
from ..pages.money import receipt_of
from ..pages.month import first_day_of
from .base import BuildingView, Json
from .money_shapes import (
    BackIn,
    LookOut,
    MoneyIn,
    MoneyLimitIn,
    MoneyLimitOut,
    MoneyMonthOut,
    MoneyOut,
    MoneyWithPhotosIn,
)
from .shapes import Problem

PAGE = 100


@dataclass(frozen=True)
class Beside:
    """What stands beside rows: what is still owed of each and to whom, and the photos of receipts; three queries."""

    rest: dict[int, int]
    people: dict[int, UUID | None]
    photos: dict[UUID, list[Photo]]

    @classmethod
    def of(cls, building: Building, rows: Collection[Money], fields: frozenset[str]) -> "Beside":
        rest = {row.pk: row.rest for row in owed_rows(building)}
        named = MoneyAttribution.objects.within(building).filter(part=MoneyAttribution.Part.OWED, row__in=rest)
        people = {one.row_id: one.person.uid if one.person else None for one in named.select_related("person")}
        return cls(rest, people if "owed_to" in fields else {}, photos_of(building, [row.uid for row in rows]))


def shape(row: Money, building: Building, fields: frozenset[str], beside: Beside) -> dict[str, Any]:
    whole = {
        "uid": row.uid,
        "day": building.local(row.counts_at).date(),
        "way": row.way,
        "coins": row.coins,
        "currency": currency_of(building),
        "purpose": row.purpose,
        "purse": row.purse,
        "words": row.words,
        "wants_approval": row.wants_approval,
        "is_approved": getattr(row, "approval", None) is not None,
        "reverses": row.reverses.uid if row.reverses else None,
        "settles": row.settles.uid if row.settles else None,
        "owed_coins": beside.rest.get(row.pk, 0),
        "owed_to": beside.people.get(row.pk),
        "photos": [photo.uid for photo in beside.photos.get(row.uid, ())],
        "via": row.via,
        "doubt": row.doubt,
    }
    return {name: value for name, value in whole.items() if name in fields}


class OfMoney(BuildingView):
    def one(self, row: Money, status: int = 200) -> Response:
        building, fields = self.here.building, self.here.grant.fields
        return Response(shape(row, building, fields, Beside.of(building, [row], fields)), status=status)


class Rows(OfMoney):
    rules = {"GET": Rule("see", "money"), "POST": Rule("add", "money")}

    parser_classes = (Json, MultiPartParser)  # type: ignore[assignment]  # photos come as a form's files

    @extend_schema(
        parameters=[
            OpenApiParameter("before", UUID, description="The last row of the page before: older ones follow.")
        ],
        responses={200: MoneyOut(many=True), 401: Problem, 404: Problem},
        description="The rows of the cash list, newest first, 100 at a time. No row says who wrote it.",
    )
    def get(self, request: Request) -> Response:
        building, fields = self.here.building, self.here.grant.fields
        rows = Money.objects.within(building).select_related("reverses", "settles", "approval")
        if request.query_params.get("before"):
            reader = Reader(request.query_params)
            before = reader.uid("before")
            reader.finish()
            last = Money.objects.within(building).filter(uid=before).first()
            if last is None:
                raise Http404
            rows = rows.filter(ledger_number__lt=last.ledger_number)
        page = list(rows.order_by("-ledger_number")[:PAGE])
        beside = Beside.of(building, page, fields)
        return Response([shape(row, building, fields, beside) for row in page])

    @extend_schema(
        request={"application/json": MoneyIn, "multipart/form-data": MoneyWithPhotosIn},
        responses={200: MoneyOut, 201: MoneyOut, 401: Problem, 404: Problem, 422: Problem},
        description="Write money down that came in or went out. Above the committee's limit it asks for a second look.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        sent = request.FILES.getlist("photos") if request.FILES else []
        done = record_money(
            building=here.building,
            photos=encode_all([one.read(MOST_SENT_BYTES + 1) for one in sent]),
            told=Cash.from_raw(as_mapping(request.data), decimals_here(here.building)),
            names_others=here.may("see", "people"),
            person=here.actor.person,
            via=LedgerRow.Via.API,
            now=here.now,
        )
        return self.one(done.row, status=201 if done.is_new else 200)


class OneMonth(BuildingView):
    rules = {"GET": Rule("see", "money")}

    @extend_schema(responses={200: MoneyMonthOut, 401: Problem, 404: Problem})
    def get(self, request: Request, year: int, number: int) -> Response:
        building = self.here.building
        figures = money_month(building, first_day_of(year, number))
        each = cost(figures, month_figures(building, figures.first_day))
        names = ("opening", "came_in", "went_out", "closing", "owed", "deposits", "in_the_box", "unseen")
        whole: dict[str, Any] = {name: getattr(figures, name) for name in names} | {
            "currency": currency_of(building),
            "by_purpose": [
                {"purpose": purpose, "came_in": came, "went_out": went} for purpose, came, went in figures.by_purpose
            ],
            "cost_per_household": each.per_household,
            "cost_per_100_kg": each.per_100_kg,
            "approval_above": building.approval_above,
        }
        month: dt.date = figures.first_day
        fields = self.here.grant.fields
        return Response({"month": month} | {name: value for name, value in whole.items() if name in fields})


class Undo(OfMoney):
    rules = {"POST": Rule("undo", "money")}

    @extend_schema(
        request=None,
        responses={200: MoneyOut, 401: Problem, 404: Problem, 422: Problem},
        description="Take a row back. The answer is the row that reverses it.",
    )
    def post(self, request: Request, money: UUID) -> Response:
        return self.one(self._do(undo_money, money))

    def _do(self, do: Any, uid: UUID) -> Any:
        here = self.here
        try:
            return do(building=here.building, uid=uid, person=here.actor.person, via=LedgerRow.Via.API, now=here.now)
        except Money.DoesNotExist:
            raise Http404 from None


class Back(Undo):
    rules = {"POST": Rule("add", "money")}

    @extend_schema(
        request=BackIn,
        responses={200: MoneyOut, 401: Problem, 404: Problem, 422: Problem},
        description="What somebody had paid from their own purse was paid back from the box: all that is still owed "
        "of it, or `amount` of it, which needs a uid.",
    )
    def post(self, request: Request, money: UUID) -> Response:
        told = PaidBack.from_raw(as_mapping(request.data), decimals_here(self.here.building))
        return self.one(self._do(partial(pay_back, told=told), money))


class Receipt(BuildingView):
    rules = {"GET": Rule("see", "receipt")}

    def perform_content_negotiation(self, request: Request, force: bool = False) -> Any:
        """Whoever asks for a picture gets it; only what is wrong is told as JSON."""
        return super().perform_content_negotiation(request, force=True)

    @extend_schema(
        responses={(200, "image/jpeg"): OpenApiTypes.BINARY, 401: Problem, 404: Problem},
        description="The photo of a receipt, made anew by us: small, and without the place it was taken at.",
    )
    def get(self, request: Request, photo: UUID) -> HttpResponse:
        return receipt_of(self.here, photo)


class Look(Undo):
    rules = {"POST": Rule("approve", "money")}

    @extend_schema(
        request=None,
        responses={200: LookOut, 401: Problem, 404: Problem, 422: Problem},
        description="A second person finds a row right: another one than its writer, or whom it is owed to.",
    )
    def post(self, request: Request, money: UUID) -> Response:
        return Response({"uid": self._do(approve, money).uid, "money": money})


class MoneyLimit(BuildingView):
    rules = {"POST": Rule("set", "money-limit")}

    @extend_schema(
        request=MoneyLimitIn,
        responses={200: MoneyLimitOut, 401: Problem, 404: Problem, 422: Problem},
        description="Above which amount a second person looks. Written down as a decision of the committee.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        told = Limit.from_raw(as_mapping(request.data), decimals_here(here.building))
        set_limit(building=here.building, told=told, by=here.actor.person, via=LedgerRow.Via.API, now=here.now)
        return Response({"approval_above": told.coins})
