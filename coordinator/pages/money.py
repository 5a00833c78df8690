"""The cash list of a month: its figures, its rows, what is owed, and writing money down."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.money.approving import CURRENCIES, Limit, approve, set_currency, set_limit
from bins.money.cash import ME, Back, Cash, decimals_here, pay_back, record_money, undo_money
from bins.photos import MOST_SENT_BYTES, encode_all, photos_of
from bins.records import Refused
from households.cash_book import money_month, money_rows, owed_rows
from households.currency import currency_of
from households.ledger import UidReused
from households.models import Building, LedgerRow, Money, MoneyAttribution, Person, Photo

from ..csv_out import csv_file
from ..doors import Here
from .coins import amount_of, coins, plain
from .month import first_day_of

Part = MoneyAttribution.Part


@dataclass(frozen=True)
class Shown:
    """One row as the list shows it. No row says who wrote it; whom it is owed to stands with what is owed."""

    row: Money
    day: dt.date
    coins: str
    what: str
    way: str
    purse: str
    is_taken_back: bool
    waits: bool  # for a second person's look
    is_mine: bool
    uid: UUID
    photos: tuple[Photo, ...] = ()


@dataclass(frozen=True)
class Owed:
    """What is still owed of a row, and the uid of its form."""

    shown: Shown
    rest: str
    is_part: bool
    name: str
    is_known: bool
    uid: str


def now(request: HttpRequest, here: Here) -> HttpResponse:
    return HttpResponseRedirect(_address(here, here.today))


def page(request: HttpRequest, here: Here, year: int, number: int) -> HttpResponse:
    first_day = first_day_of(year, number)
    if request.method != "POST":
        return _page(request, here, first_day, {}, {})
    values = request.POST.dict()
    try:
        told = Cash.from_raw(values, decimals_here(here.building))
        photos = encode_all([one.read(MOST_SENT_BYTES + 1) for one in request.FILES.getlist("photos")])
        recorded = record_money(
            building=here.building, told=told, names_others=here.may("see", "people"), person=here.actor.person,
            via=LedgerRow.Via.WEB, now=here.now, photos=photos,
        )  # fmt: skip
    except Refused as refused:
        return _page(request, here, first_day, values, refused.errors)
    except UidReused:
        return _page(request, here, first_day, values | {"uid": str(uuid4())}, {"uid": sent_before()})
    messages.success(request, _("Written down: %(coins)s.") % {"coins": coins(recorded.row.coins, here.building)})
    if recorded.row.wants_approval:
        messages.info(request, _("It is above the committee's limit, so a second person looks at it too."))
    return HttpResponseRedirect(_address(here, here.building.local(recorded.row.counts_at).date()))


def as_csv(request: HttpRequest, here: Here, year: int, number: int) -> HttpResponse:
    """The month's rows as a file. Amounts as they add up: what went out, or was paid back, below nothing."""
    first_day = first_day_of(year, number)
    following = (first_day + dt.timedelta(days=32)).replace(day=1)
    headings = (
        _("Day"),
        _("What for"),
        _("Note"),
        _("Which way"),
        _("From where"),
        _("Amount"),
        _("Currency"),
        _("State"),
    )
    lines = [
        (
            one.day,
            one.what,
            one.row.words,
            one.way,
            Money.Purse(one.row.purse).label,
            amount_of(one.row.coins if one.row.way == Money.Way.IN else -one.row.coins, here.building),
            currency_of(here.building),
            _state(one),
        )
        for one in _rows(here, first_day, following)
    ]
    return csv_file(f"cash-{year}-{number:02}.csv", [headings, *lines])


def _state(one: Shown) -> str:
    if one.row.reverses_id is not None:
        return _("correction")
    if one.is_taken_back:
        return _("taken back")
    return _("waits for a second look") if one.waits else ""


def undo(request: HttpRequest, here: Here, money: UUID) -> HttpResponse:
    return _act(request, here, money, undo_money, _("Taken back. Both rows stay in the list."))


def back(request: HttpRequest, here: Here, money: UUID) -> HttpResponse:
    """All that is still owed of a row, or a part of it."""
    try:
        told = Back.from_raw(request.POST.dict(), decimals_here(here.building))
    except Refused as refused:
        messages.error(request, " ".join(refused.errors.values()))
        return now(request, here)
    return _act(request, here, money, partial(pay_back, told=told), _("Written down: it was paid back."))


def look(request: HttpRequest, here: Here, money: UUID) -> HttpResponse:
    return _act(request, here, money, approve, _("Your look is written down."))


def limit(request: HttpRequest, here: Here) -> HttpResponse:
    """The committee's limit above which a second person looks."""
    values = request.POST.dict()
    try:
        told = Limit.from_raw(values, decimals_here(here.building))
        set_limit(building=here.building, told=told, by=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except Refused as refused:
        return _page(request, here, here.today.replace(day=1), {"limit": values}, refused.errors)
    except UidReused:
        return _page(request, here, here.today.replace(day=1), {}, {"uid": sent_before()})
    messages.success(request, _("It holds from now on, and stands among the decisions."))
    return HttpResponseRedirect(_address(here, here.today))


def currency(request: HttpRequest, here: Here) -> HttpResponse:
    try:
        chosen = request.POST.get("currency", "")
        set_currency(building=here.building, currency=chosen, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, here.today.replace(day=1), {}, refused.errors)
    messages.success(request, _("Amounts are in %(currency)s from now on.") % {"currency": chosen})
    return HttpResponseRedirect(_address(here, here.today))


def receipt(request: HttpRequest, here: Here, photo: UUID) -> HttpResponse:
    """The photo of a receipt."""
    return receipt_of(here, photo)


def receipt_of(here: Here, photo: UUID) -> HttpResponse:
    """A receipt's picture; 404 for any other photo of the building."""
    rows = Money.objects.within(here.building).values("uid")
    found: Photo | None = Photo.objects.within(here.building).filter(uid=photo, of__in=rows).first()
    if found is None:
        raise Http404
    return HttpResponse(bytes(found.jpeg), content_type="image/jpeg")


def sent_before() -> str:
    return _("This form was already sent with other values. What was sent first was kept as it is.")


def _act(request: HttpRequest, here: Here, uid: UUID, do: Callable[..., Any], said: str) -> HttpResponse:
    try:
        do(building=here.building, uid=uid, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except Money.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        messages.error(request, " ".join(refused.errors.values()))
    except UidReused:
        messages.error(request, sent_before())
    else:
        messages.success(request, said)
    row = Money.objects.within(here.building).get(uid=uid)
    return HttpResponseRedirect(_address(here, here.building.local(row.counts_at).date()))


def _address(here: Here, day: dt.date) -> str:
    return reverse("money", args=[here.building.uid, day.year, day.month])


def _page(
    request: HttpRequest, here: Here, first_day: dt.date, values: dict[str, Any], errors: dict[str, str]
) -> HttpResponse:
    building, figures = here.building, money_month(here.building, first_day)
    following = (first_day + dt.timedelta(days=32)).replace(day=1)
    may_add = here.may("add", "money")
    people = Person.objects.within(building).exclude(household__isnull=False, household__label="")
    limited: dict[str, str] = values.pop("limit", {})
    return render(
        request,
        "pages/money.html",
        {
            "first_day": first_day,
            "figures": figures,
            "said": {
                name: coins(getattr(figures, name), building)
                for name in ("opening", "came_in", "went_out", "closing", "owed", "deposits", "in_the_box")
            },
            "purposes": [
                (Money.Purpose(purpose).label, coins(came, building), coins(went, building))
                for purpose, came, went in figures.by_purpose
            ],
            "rows": _rows(here, first_day, following),
            "owed": _owed(here),
            "before": (first_day - dt.timedelta(days=1)).replace(day=1),
            "after": following if following <= here.today else None,
            "may_add": may_add,
            "may_limit": here.may("set", "money-limit"),
            "limit": {"uid": str(uuid4()), "above": plain(building.approval_above, building)} | limited,
            "limit_said": "" if building.approval_above is None else coins(building.approval_above, building),
            "currency": currency_of(building),
            "currencies": CURRENCIES if may_add and not figures.has_rows and building.approval_above is None else (),
            "people": people.order_by("name", "pk") if may_add and here.may("see", "people") else (),
            "choices": {
                "purposes": _choices(Money.Purpose.choices, values.get("purpose", "browns")),
                "ways": _choices(
                    [way for way in Money.Way.choices if way[0] != Money.Way.BACK], values.get("way", "out")
                ),
                "purses": _choices(Money.Purse.choices, values.get("purse", "box")),
            },
            "values": {"uid": str(uuid4()), "day": here.today.isoformat(), "owed_to": ME} | values,
            "errors": errors,
        },
        status=422 if errors else 200,
    )


def _choices(choices: Any, chosen: str) -> list[tuple[str, Any, bool]]:
    return [(value, label, value == chosen) for value, label in choices]


def _rows(here: Here, first_day: dt.date, until: dt.date) -> list[Shown]:
    rows = money_rows(here.building, first_day, until).select_related("approval", "reversed_by")
    found = [_shown(here, row) for row in rows.prefetch_related("attributions")]
    photos = photos_of(here.building, [one.uid for one in found])
    return [replace(one, photos=tuple(photos.get(one.uid, ()))) for one in found]


def _owed(here: Here) -> list[Owed]:
    """What is owed, to whom, and whether that is still known: named to whoever pays it back, and to the person."""
    found = []
    rows = owed_rows(here.building).select_related("approval", "reversed_by")
    for row in rows.prefetch_related("attributions__person"):
        person = next((one.person for one in row.attributions.all() if one.part == Part.OWED), None)
        is_me = person is not None and person == here.actor.person
        sees = person is not None and (is_me or "owed_to" in here.grant.fields)
        found.append(
            Owed(
                shown=_shown(here, row),
                rest=coins(row.rest, here.building),
                is_part=row.rest < row.coins,
                name=person.name if person is not None and sees else "",
                is_known=person is not None,
                uid=str(uuid4()),
            )
        )
    return found


def _shown(here: Here, row: Money) -> Shown:
    building: Building = here.building
    me = here.actor.person.pk if here.actor.person else None
    stands = row.reverses_id is None and getattr(row, "reversed_by", None) is None
    return Shown(
        row=row,
        day=building.local(row.counts_at).date(),
        coins=coins(row.coins, building),
        what=str(Money.Purpose(row.purpose).label),
        way=str(Money.Way(row.way).label),
        purse=str(Money.Purse(row.purse).label) if row.purse == Money.Purse.OWN else "",
        is_taken_back=row.reverses_id is None and not stands,
        waits=stands and row.wants_approval and getattr(row, "approval", None) is None,
        is_mine=any(one.person_id == me for one in row.attributions.all()) if me else False,
        uid=row.uid,
    )
