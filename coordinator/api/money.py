"""The cash list: its rows and figures, writing down, taking back, paying back, a second look, the limit."""

import datetime as dt
from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.money.approving import Limit, approve, set_limit
from bins.money.cash import Cash, decimals_here, pay_back, record_money, undo_money
from bins.months.figures import month as month_figures
from bins.records import as_mapping
from households.cash_book import money_month, owed_rows
from households.currency import currency_of
from households.models import Building, LedgerRow, Money, MoneyAttribution

from ..access import Rule
from ..month_money import cost
from ..pages.month import first_day_of
from .base import BuildingView
from .money_shapes import LookOut, MoneyIn, MoneyLimitIn, MoneyLimitOut, MoneyMonthOut, MoneyOut
from .shapes import Problem

PAGE = 100


def shape(row: Money, building: Building, fields: frozenset[str], owed: dict[int, UUID | None]) -> dict[str, Any]:
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
        "owed_to": owed.get(row.pk),
        "via": row.via,
        "doubt": row.doubt,
    }
    return {name: value for name, value in whole.items() if name in fields}


def owed_people(building: Building) -> dict[int, UUID | None]:
    """To whom each row is owed that nobody has paid back; two queries."""
    named = MoneyAttribution.objects.within(building).filter(
        part=MoneyAttribution.Part.OWED, row__in=owed_rows(building)
    )
    return {one.row_id: one.person.uid if one.person else None for one in named.select_related("person")}


class OfMoney(BuildingView):
    def one(self, row: Money, status: int = 200) -> Response:
        building, fields = self.here.building, self.here.grant.fields
        owed = owed_people(building) if "owed_to" in fields else {}
        return Response(shape(row, building, fields, owed), status=status)


class Rows(OfMoney):
    rules = {"GET": Rule("see", "money"), "POST": Rule("add", "money")}

    @extend_schema(
        responses={200: MoneyOut(many=True), 401: Problem, 404: Problem},
        description="The rows of the cash list, newest first, 100 at most. No row says who wrote it.",
    )
    def get(self, request: Request) -> Response:
        building, fields = self.here.building, self.here.grant.fields
        rows = Money.objects.within(building).select_related("reverses", "settles", "approval")
        owed = owed_people(building) if "owed_to" in fields else {}
        return Response([shape(row, building, fields, owed) for row in rows.order_by("-ledger_number")[:PAGE]])

    @extend_schema(
        request=MoneyIn,
        responses={200: MoneyOut, 201: MoneyOut, 401: Problem, 404: Problem, 422: Problem},
        description="Write money down that came in or went out. Above the committee's limit it asks for a second look.",
    )
    def post(self, request: Request) -> Response:
        here = self.here
        done = record_money(
            building=here.building,
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
        request=None,
        responses={200: MoneyOut, 401: Problem, 404: Problem},
        description="What somebody had paid from their own purse was paid back from the box, whole.",
    )
    def post(self, request: Request, money: UUID) -> Response:
        return self.one(self._do(pay_back, money))


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
