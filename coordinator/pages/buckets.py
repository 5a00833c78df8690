"""Holding buckets: put a pail in, empty one into the open hatch, keep a new one."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.intake.bucket_filling import empty, put_in
from bins.intake.buckets import BucketState, BucketTold, add_bucket, for_household, states
from bins.intake.dropoff import DropOff
from bins.models import Bucket, Drum
from bins.records import Reader, Refused
from households.ledger import UidReused
from households.models import Household, LedgerRow, Site

from ..doors import Here
from ..words import pails
from .amounts import weight
from .people import door_order

PAIL_CHOICES = (2, 4, 6, 8)  # quarter pails
NO_ERRORS: dict[str, str] = {}


def page(request: HttpRequest, here: Here) -> HttpResponse:
    if request.method != "POST":
        return _page(request, here)
    values = request.POST.dict()
    try:
        add_bucket(building=here.building, told=BucketTold.from_raw(values), now=here.now)
    except Refused as refused:
        return _page(request, here, "add", values, refused.errors)
    return _done(request, here, _("The bucket is written down. Put the bedding in first."))


def fill(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    person = here.actor.person
    values = request.POST.dict()
    bucket = _one(here, uid)
    try:
        put_in(
            building=here.building,
            bucket_uid=uid,
            told=DropOff.from_raw(values | {"drum": str(bucket.drum.uid)}),
            household=person.household if person else None,
            person=person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Bucket.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        return _page(request, here, f"fill {uid}", values, refused.errors)
    except UidReused:
        return _page(request, here, f"fill {uid}", values | {"uid": str(uuid4())}, {"uid": _kept()})
    return _done(request, here, _("Written down. It counts for your household when the bucket is emptied."))


def pour(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    person = here.actor.person
    _one(here, uid)
    try:
        reader = Reader(request.POST.dict())
        record = reader.uid()
        reader.finish()
        emptied = empty(
            building=here.building,
            uid=record,
            bucket_uid=uid,
            household=person.household if person else None,
            person=person,
            via=LedgerRow.Via.WEB,
            now=here.now,
        )
    except Refused as refused:
        return _page(request, here, f"pour {uid}", {}, refused.errors)
    except UidReused:
        return _page(request, here, f"pour {uid}", {}, {"uid": _kept()})
    if emptied.row.batch is None:
        return _done(request, here, _("No hatch was open, so it counts for no lot. It is written down all the same."))
    return _done(request, here, _("Emptied. Put fresh bedding in before the next scraps."))


def _kept() -> str:
    return _("This form was already sent with other values. Those were kept. If there is more, send it now.")


def _done(request: HttpRequest, here: Here, text: str) -> HttpResponse:
    messages.success(request, text)
    return HttpResponseRedirect(reverse("buckets", args=[here.building.uid]))


def seen(here: Here) -> Any:
    """The buckets that somebody may see: those in the cellar, and the own household's. Nobody sees into another's."""
    person = here.actor.person
    found = for_household(here.building, person.household if person else None)
    return found.select_related("drum__site").order_by("name", "pk")


def _one(here: Here, uid: UUID) -> Bucket:
    bucket: Bucket | None = seen(here).filter(uid=uid).first()
    if bucket is None:
        raise Http404
    return bucket


def _page(
    request: HttpRequest,
    here: Here,
    form: str = "",
    values: dict[str, Any] | None = None,
    errors: dict[str, str] = NO_ERRORS,
) -> HttpResponse:
    may_fill, person = here.may("fill", "bucket"), here.actor.person
    own = person.household_id if person else None
    listed = states(here.building, seen(here))
    adding = (values or {}) if form == "add" else {}
    return render(
        request,
        "pages/buckets.html",
        {
            "buckets": [
                _shown(state, here, form, values or {}, errors)
                | {"may_fill": may_fill and state.bucket.household_id in (None, own)}
                for state in listed
            ],
            "errors": errors,
            "fullest": max(listed, key=lambda state: state.percent, default=None),
            "may_set": here.may("set", "bucket"),
            "add": {
                "values": adding,
                "uid": adding.get("uid") or str(uuid4()),
                "errors": errors if form == "add" else NO_ERRORS,
                "drums": Drum.objects.within(here.building).order_by("number"),
                "households": sorted(Household.objects.within(here.building).filter(left_on=None), key=door_order),
                "kinds": [
                    (value, label, value == adding.get("bedding", Site.Browns.PELLETS))
                    for value, label in Site.Browns.choices
                ],
            }
            if here.may("set", "bucket")
            else None,
        },
        status=422 if errors else 200,
    )


def _shown(state: BucketState, here: Here, form: str, values: dict[str, Any], errors: dict[str, str]) -> dict[str, Any]:
    uid = state.bucket.uid
    mine = values if form == f"fill {uid}" else {}
    return {
        "state": state,
        "bucket": state.bucket,
        "weight": weight(state.scraps_g, here.building),
        "fill_uid": mine.get("uid") or str(uuid4()),
        "pour_uid": str(uuid4()),
        "errors": errors if form in (f"fill {uid}", f"pour {uid}") else NO_ERRORS,
        "pails": [
            (str(quarters), pails(quarters), str(quarters) == mine.get("quarter_pails", "4"))
            for quarters in PAIL_CHOICES
        ],
    }
