"""Taking a finished lot out: one form, and the list of all that came out."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from bins.harvests.balance import balances, came_out
from bins.harvests.harvest import parts_of, record_harvest, standing
from bins.harvests.measured import PARTS, Measured
from bins.harvests.parts import record_part, take_part_back
from bins.models import Batch, Harvest, HarvestPart, Split
from bins.process.stage import Stage
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..doors import Here
from ..words import STAGES
from .amounts import typed_volume, volume
from .tubs import tubs, tubs_said

RECENT = 50


def harvests(request: HttpRequest, here: Here) -> HttpResponse:
    """All harvests, newest first, and the lots that are finished."""
    rows = list(
        Harvest.objects.within(here.building)
        .filter(reverses__isnull=True, reversed_by__isnull=True)
        .select_related("batch__drum__site", "place", "split")
        .order_by("-counts_at", "-ledger_number")[:RECENT]
    )
    stand, out = balances(here.building, rows), came_out(here.building, rows)
    finished = Batch.objects.within(here.building).filter(stage=Stage.READY).select_related("drum__site", "place")
    return render(
        request,
        "pages/harvests.html",
        {
            "rows": [
                {
                    "row": row,
                    "tubs": tubs(out[row.pk].millionths),
                    "tubs_said": tubs_said(out[row.pk].millionths),
                    "litres": volume(out[row.pk].millilitres, here.building),
                    "waiting": tubs(stand[row.pk].waiting) if stand[row.pk].waiting else "",
                    "is_shared": hasattr(row, "split"),
                }
                for row in rows
            ],
            "finished": finished.order_by("opened_at") if here.may("add", "harvest") else [],
            "may_see_terms": here.may("see", "sharing"),
        },
    )


def harvests_now(here: Here) -> dict[str, Any]:
    """For the day's list, in three queries: lots to take out, harvests to share out, shares that people fetch."""
    standing_ones = Harvest.objects.within(here.building).filter(reverses__isnull=True, reversed_by__isnull=True)
    found = {
        "finished": list(
            Batch.objects.within(here.building)
            .filter(stage=Stage.READY)
            .select_related("drum", "place")
            .order_by("opened_at", "pk")
        ),
        "unshared": list(standing_ones.filter(split__isnull=True).select_related("batch__drum").order_by("pk")),
        "fetching": list(
            Split.objects.within(here.building)
            .filter(pick_up_on__lte=here.today, pick_up_until__gte=here.today)
            .select_related("harvest")
            .order_by("pk")
        ),
    }
    return found | {"any": any(found.values())}


def page(request: HttpRequest, here: Here, batch: UUID) -> HttpResponse:
    found = Batch.objects.within(here.building).select_related("drum__site", "place").filter(uid=batch).first()
    if found is None:
        raise Http404
    return add(request, here, found) if request.method == "POST" else _form(request, here, found, {}, {}, 200)


def add(request: HttpRequest, here: Here, batch: Batch) -> HttpResponse:
    """A whole lot, or a part of it: the form asks which, and has one answer for both."""
    values = request.POST.dict()
    rest = values.get("rest")
    raw: dict[str, Any] = values | ({rest: "yes"} if rest in ("is_empty", "more") else {})
    if rest == "more":
        raw.pop("corrects", None)  # a part takes the place of nothing
    address = reverse("harvest", args=[here.building.uid, batch.uid])
    try:
        told = Measured.from_raw(raw)
        sent: dict[str, Any] = {
            "building": here.building, "batch_uid": batch.uid, "told": told, "person": here.actor.person,
            "via": LedgerRow.Via.WEB, "now": here.now,
        }  # fmt: skip
        if told.more:
            record_part(**sent)
            messages.success(request, _("The part is written down. It counts with the rest of the lot."))
        else:
            row = record_harvest(**sent).row
            address = reverse("split", args=[here.building.uid, row.uid])
            messages.success(request, _("The harvest is written down."))
    except Refused as refused:
        return _form(request, here, batch, values, refused.errors, 422)
    except UidReused:
        kept = _("This form was already sent with other values. What was measured first was kept as it is.")
        return _form(request, here, batch, values | {"uid": str(uuid4())}, {"uid": kept}, 422)
    return HttpResponseRedirect(address)


def undo_part(request: HttpRequest, here: Here, part: UUID) -> HttpResponse:
    """Take a part back that was measured wrongly, and go on at its lot."""
    row = HarvestPart.objects.within(here.building).select_related("batch__drum__site", "batch__place").filter(uid=part)
    found = row.first()
    if found is None:
        raise Http404
    try:
        take_part_back(building=here.building, uid=part, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except HarvestPart.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        return _form(request, here, found.batch, {}, refused.errors, 422)
    messages.info(request, _("Taken back. The sum stays right."))
    return HttpResponseRedirect(reverse("harvest", args=[here.building.uid, found.batch.uid]))


def _form(
    request: HttpRequest, here: Here, batch: Batch, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    before, parts = standing(here.building, batch), parts_of(here.building, batch)
    if before is None and not Stage(batch.stage).is_live and not parts:
        raise Http404  # thrown out, or part of another lot: there is nothing to take out
    tub_ml = before.tub_ml if before else parts[-1].tub_ml if parts else batch.drum.site.tub_ml
    fresh = {
        "uid": str(uuid4()),
        "corrects": str(before.uid) if before else "",
        "tub_litres": typed_volume(tub_ml, here.building),
    }
    values = fresh | values
    return render(
        request,
        "pages/harvest.html",
        {
            "batch": batch,
            "place": before.place if before else batch.place or parts[-1].place,
            "before": before,
            "before_tubs": tubs_said(before.millionths) if before else "",
            "is_early": before is None and batch.stage != Stage.READY,
            "stage": STAGES[batch.stage],
            "values": values,
            "errors": errors,
            "parts": [(part, number_format(part), part == (values.get("part") or "0")) for part in PARTS],
            "measured": [(row, tubs_said(row.millionths), volume(row.millilitres, here.building)) for row in parts],
            "all_uid": str(uuid4()),
        },
        status=status,
    )
