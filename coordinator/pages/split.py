"""One harvest: how it would be shared out, how it was, and where each tub of it is."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.harvests.balance import balance, came_out
from bins.harvests.handout import is_open
from bins.harvests.outgoing import Loss, record_loss, undo
from bins.harvests.sharing import Sharing, finalise
from bins.harvests.split_figures import split_figures
from bins.models import Harvest, Outgoing
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from .amounts import density, volume, weight
from .tubs import balance_said, groups_said, tubs_said


def page(request: HttpRequest, here: Here, harvest: UUID) -> HttpResponse:
    row = harvest_of(here, harvest)
    return share_out(request, here, row) if request.method == "POST" else _page(request, here, row, {}, {}, 200)


def harvest_of(here: Here, uid: UUID) -> Harvest:
    """A measurement that stands; 404 for any other."""
    row: Harvest | None = (
        Harvest.objects.within(here.building)
        .filter(uid=uid, reverses__isnull=True, reversed_by__isnull=True)
        .select_related("batch__drum__site", "place")
        .first()
    )
    if row is None:
        raise Http404
    return row


def share_out(request: HttpRequest, here: Here, row: Harvest) -> HttpResponse:
    values = request.POST.dict()
    try:
        done = finalise(
            building=here.building,
            harvest_uid=row.uid,
            told=Sharing.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, row, values, refused.errors, 422)
    except UidReused:
        return _page(request, here, row, values, {"uid": _sent_before()}, 422)
    if done.is_new:
        messages.success(request, _("It is shared out. Everybody with an account gets a message."))
    else:
        messages.info(request, _("It was shared out already. This is how."))
    return HttpResponseRedirect(_address(here, row))


def lose(request: HttpRequest, here: Here, harvest: UUID) -> HttpResponse:
    row, values = harvest_of(here, harvest), request.POST.dict()
    try:
        record_loss(
            building=here.building,
            harvest_uid=row.uid,
            told=Loss.from_raw(values),
            person=here.actor.person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, row, {"lost": values}, refused.errors, 422)
    except UidReused:
        return _page(request, here, row, {}, {"uid": _sent_before()}, 422)
    messages.info(request, _("The loss is written down. The sum stays right."))
    return HttpResponseRedirect(_address(here, row))


def take_back(request: HttpRequest, here: Here, outgoing: UUID) -> HttpResponse:
    """Undo a pick-up or a loss, and go back to where it was written down."""
    try:
        row = undo(building=here.building, uid=outgoing, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except Outgoing.DoesNotExist:
        raise Http404 from None
    messages.info(request, _("Taken back. The sum stays right."))
    name = "split" if row.kind == Outgoing.Kind.LOST else "hand-out"
    return HttpResponseRedirect(reverse(name, args=[here.building.uid, row.harvest.uid]))


def _sent_before() -> str:
    return _("This form was already sent with other values. What was sent first was kept as it is.")


def _address(here: Here, row: Harvest) -> str:
    return reverse("split", args=[here.building.uid, row.uid])


def _page(
    request: HttpRequest, here: Here, row: Harvest, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    told = split_figures(here.building, row, here.today)
    out = came_out(here.building, [row])[row.pk]
    split = told.final
    standing = balance(here.building, row)
    losses = Outgoing.objects.within(here.building).filter(
        harvest=row, kind=Outgoing.Kind.LOST, reverses__isnull=True, reversed_by__isnull=True
    )
    lost: dict[str, str] = values.pop("lost", {})
    return render(
        request,
        "pages/split.html",
        {
            "row": row,
            "split": split,
            "told": told,
            "said": groups_said(told.groups),
            "beds": tubs_said(told.beds_millionths),
            "harvested": tubs_said(out.millionths),
            "litres": volume(out.millilitres, here.building),
            "parts": out.parts + 1 if row.millionths else out.parts,
            "weighs": weight(out.weighed_g, here.building) if out.weighed_g else "",
            "by_one_tub": out.by_one_tub,
            "density": density(out.weighed_g, out.millilitres, here.building),
            "balance": balance_said(standing),
            "has_waiting": standing.waiting > 0,
            "losses": [(loss, tubs_said(loss.millionths)) for loss in losses.order_by("ledger_number")],
            "loss_kinds": [(kind, label, kind == lost.get("loss")) for kind, label in Outgoing.Loss.choices if kind],
            "lost": {"uid": str(uuid4())} | lost,
            "values": {"uid": str(uuid4()), "pick_up_on": here.today.isoformat()} | values,
            "errors": errors,
            "may_share": here.may("add", "split"),
            "may_lose": here.may("add", "loss"),
            "may_measure": here.may("add", "harvest") and split is None,
            "may_see_list": split is not None and here.may("see", "hand-out") and is_open(split, here.today),
        },
        status=status,
    )
