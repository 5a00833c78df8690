"""The list for the day of fetching, to press or to print: who gets how many tubs."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.harvests.balance import balance
from bins.harvests.handout import hand_out, is_open, open_splits
from bins.harvests.outgoing import PickUp, record_pick_up
from bins.models import Harvest, Share, Split
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from .split import harvest_of
from .tubs import tubs, tubs_said


def page(request: HttpRequest, here: Here, harvest: UUID) -> HttpResponse:
    row = harvest_of(here, harvest)
    split = open_split(here, row)
    return add(request, here, row, split) if request.method == "POST" else _page(request, here, row, split, {}, {}, 200)


def day(request: HttpRequest, here: Here) -> HttpResponse:
    """Who fetches what today, of all harvests on one list: to read out at the drums, and to print."""
    splits = open_splits(here.building, here.today)
    lines = hand_out(here.building, *splits)
    waiting = [line for line in lines if line.left > 0]
    return render(
        request,
        "pages/handout_day.html",
        {
            "lines": [(line, tubs(line.left), line.left > 0) for line in lines],
            "households": len({line.household.pk for line in waiting}),
            "left": tubs_said(sum(line.left for line in waiting)),
            "splits": splits,
        },
    )


def open_split(here: Here, row: Harvest) -> Split:
    """The split whose list of names may be seen today; 404 for any other."""
    split: Split | None = Split.objects.within(here.building).filter(harvest=row).first()
    if split is None or not is_open(split, here.today):
        raise Http404
    return split


def add(request: HttpRequest, here: Here, row: Harvest, split: Split) -> HttpResponse:
    values = request.POST.dict()
    try:
        told = PickUp.from_raw(values)
        if not Share.objects.within(here.building).filter(uid=told.share_uid, split=split).exists():
            raise Http404
        record_pick_up(building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except Refused as refused:
        return _page(request, here, row, split, values, refused.errors, 422)
    except UidReused:
        kept = _("This was already written down with other values. What was sent first was kept as it is.")
        return _page(request, here, row, split, values | {"uid": str(uuid4())}, {"tubs": kept}, 422)
    messages.success(request, _("Written down as fetched."))
    return HttpResponseRedirect(reverse("hand-out", args=[here.building.uid, row.uid]))


def _page(
    request: HttpRequest, here: Here, row: Harvest, split: Split, values: dict[str, str], errors: dict[str, str],
    status: int,
) -> HttpResponse:  # fmt: skip
    lines = hand_out(here.building, split)
    waiting = balance(here.building, row).waiting
    return render(
        request,
        "pages/handout.html",
        {
            "row": row,
            "split": split,
            "lines": [
                {
                    "line": line,
                    "household": line.household.label,
                    "tubs": line.share.tubs,
                    "given": tubs(line.given) if line.given else "",
                    "gift": tubs(line.gift) if line.gift else "",
                    "unclaimed": tubs(line.unclaimed) if line.unclaimed else "",
                    "fetchable": line.left + line.unclaimed > 0,
                    "uid": (is_this and values.get("uid")) or str(uuid4()),
                    "value": values.get("tubs", "") if is_this else "",
                    "error": errors.get("tubs", "") if is_this else "",
                }
                for line in lines
                for is_this in [values.get("share") == str(line.share.uid)]
            ],
            "errors": errors,
            "left": sum(line.left > 0 for line in lines),
            "waiting": tubs_said(waiting),
            "is_over": here.today > split.pick_up_until,
        },
        status=status,
    )
