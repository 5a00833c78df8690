"""The store of browns: how much is there, when to order, what came in, what was counted, what to mind."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.mixing.stock import StockState, stocks
from bins.mixing.storing import Act, Kept, Stored, record_stock, set_store, undo_stock
from bins.models import BrownsStock, BrownsStore
from bins.records import Refused
from households.ledger import UidReused
from households.models import Household, LedgerRow, Site

from .. import stock_words
from ..doors import Here
from .amounts import amount, typed_litres, volume

SHOWN = 20  # the newest rows of each site's store


def page(request: HttpRequest, here: Here) -> HttpResponse:
    return add(request, here) if request.method == "POST" else _page(request, here, {}, {})


def add(request: HttpRequest, here: Here) -> HttpResponse:
    """A delivery or a count."""
    values = request.POST.dict()
    try:
        told = Stored.from_raw(values)
        record_stock(building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except Refused as refused:
        return _page(request, here, values, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    except UidReused:
        kept = _("This form was already sent with other values. What was sent first was kept as it is.")
        return _page(request, here, values | {"uid": str(uuid4())}, {"uid": kept})
    messages.success(request, _("Written down. What the pages say of browns follows."))
    return HttpResponseRedirect(reverse("store", args=[here.building.uid]))


def undo(request: HttpRequest, here: Here, stored: UUID) -> HttpResponse:
    try:
        undo_stock(building=here.building, uid=stored, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except BrownsStock.DoesNotExist:
        raise Http404 from None
    messages.info(request, _("Taken back. Both rows stay in the list."))
    return HttpResponseRedirect(reverse("store", args=[here.building.uid]))


def keep(request: HttpRequest, here: Here, site: UUID) -> HttpResponse:
    """Where the browns lie, how many may, and how long a delivery takes."""
    values = request.POST.dict()
    try:
        told = Kept.from_raw(values)
        set_store(building=here.building, site_uid=site, told=told, person=here.actor.person, now=here.now)
    except Refused as refused:
        return _page(request, here, values | {"site": str(site), "is_kept": "yes"}, refused.errors)
    except Site.DoesNotExist:
        raise Http404 from None
    messages.success(request, _("Written down. The list of the day goes by it."))
    return HttpResponseRedirect(reverse("store", args=[here.building.uid]))


def _page(request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str]) -> HttpResponse:
    states, may_add = stocks(here.building, here.now), here.may("add", "stock")
    rows = BrownsStock.objects.within(here.building).select_related("reversed_by")
    newest = list(rows.order_by("-counts_at", "-ledger_number")[: SHOWN * max(1, len(states))])
    households = Household.objects.within(here.building).living_on(here.today).exclude(label="").order_by("label")
    return render(
        request,
        "pages/store.html",
        {
            "stores": [
                _store(
                    here, state, newest, *((values, errors) if values.get("site") == str(state.site.uid) else ({}, {}))
                )
                for state in states
            ],
            "errors": errors,
            "may_add": may_add,
            "may_set": here.may("set", "store"),
            "households": households if may_add and here.may("see", "people") else (),
        },
        status=422 if errors else 200,
    )


def _store(
    here: Here, state: StockState, rows: list[BrownsStock], values: dict[str, Any], errors: dict[str, str]
) -> dict[str, Any]:
    building, store = here.building, state.store
    stands = {
        "room": store.room, "delivery_weeks": store.delivery_weeks,
        "most_litres": typed_litres(store.most_litres, building) if store.most_litres else "",
        "review_weeks": store.review_weeks, "safety_weeks": store.safety_weeks,
    }  # fmt: skip
    told = values if not values.get("is_kept") else {}
    kept = stands | (values if values.get("is_kept") else {})
    return {
        "state": state,
        "site": state.site,
        "lasts": stock_words.lasts(state),
        "task": stock_words.task(state),
        "litres": "" if state.litres is None else volume(state.litres * 1000, building),
        "weekly": volume(round(state.weekly * 1000), building),
        "reorder_at": volume(state.reorder_at * 1000, building),
        "most": volume(state.most * 1000, building),
        "room": "" if state.room is None else volume(state.room * 1000, building),
        "minds": [stock_words.MINDS[mind] for mind in state.minds],
        "rows": [
            {
                "uid": row.uid,
                "day": building.local(row.counts_at).date(),
                "what": BrownsStock.Act(row.act).label,
                "kind": Site.Browns(row.kind).label,
                "litres": amount(row.millilitres, "ml", building),
                "is_reversal": row.reverses_id is not None,
                "is_taken_back": getattr(row, "reversed_by", None) is not None,
            }
            for row in rows
            if row.site_id == state.site.pk
        ][:SHOWN],
        "values": {"uid": str(uuid4()), "day": here.today.isoformat(), "kind": state.site.browns} | told,
        "acts": [(*one, one[0] == told.get("act", Act.DELIVERY)) for one in Act.choices],
        "kinds": [(*one, one[0] == told.get("kind", state.site.browns)) for one in Site.Browns.choices],
        "kept": kept,
        "rooms": [(*one, one[0] == kept["room"]) for one in BrownsStore.Room.choices],
        "errors": errors,
    }
