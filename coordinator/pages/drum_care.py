"""One drum for whoever cares for it: its hatches open or shut, and the drum in use, resting or out of use."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from bins.care.drum_state import batches_inside
from bins.care.moving import free_places
from bins.hatch import drum_states
from bins.models import Assignment, Drum, Place
from bins.process.stage import Stage
from bins.records import Refused
from households.ledger import UidReused
from households.models import LedgerRow

from ..care import ACTS, OF_PLACE, perform, reused
from ..doors import Here
from ..picture import picture


def show(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    return _page(request, here, _fetch(here, uid), "", {}, {}, 200)


def change(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """The drum into another state, how its hatches turn, or what it or a curing bin beside it is made of."""
    drum, values = _fetch(here, uid), request.POST.dict()
    act, subject = _act_of(values, uid)
    sent = f"{act} {subject}"
    try:
        perform(here, act, subject, _raw(values), LedgerRow.Via.WEB)
    except Refused as refused:
        return _page(request, here, drum, sent, values, refused.errors, 422)
    except UidReused:
        return _page(request, here, drum, sent, values | {"uid": str(uuid4())}, {"uid": reused()}, 422)
    messages.success(request, str(ACTS[act].said))
    return HttpResponseRedirect(reverse("drum-care", args=[here.building.uid, uid]))


def hatch(request: HttpRequest, here: Here, uid: UUID, act: str) -> HttpResponse:
    """Open, shut or reopen one of its hatches."""
    place = Place.objects.within(here.building).filter(uid=uid, drum__isnull=False).select_related("drum").first()
    if place is None or act not in OF_PLACE:
        raise Http404
    values = request.POST.dict()
    try:
        perform(here, act, uid, values, LedgerRow.Via.WEB)
    except Refused as refused:
        return _page(request, here, place.drum, f"{act} {uid}", values, refused.errors, 422)
    except UidReused:
        return _page(request, here, place.drum, f"{act} {uid}", values, {"uid": reused()}, 422)
    messages.success(request, str(ACTS[act].said))
    return HttpResponseRedirect(reverse("drum-care", args=[here.building.uid, place.drum.uid]))


def _act_of(values: Mapping[str, str], drum: UUID) -> tuple[str, UUID]:
    """What a sent form of this page wants to be done, and to what."""
    if "insulation" not in values:
        return "turning" if "turns" in values else "states", drum
    if "bin" not in values:
        return "make", drum
    try:
        return "bin-make", UUID(values["bin"])
    except ValueError:
        raise Http404 from None


def _raw(values: Mapping[str, str]) -> dict[str, Any]:
    """A sent form in the shape that the record reads: only names are mapped."""
    contents = [
        {"batch": name.removeprefix("to-"), "to": value}
        for name, value in values.items()
        if name.startswith("to-") and value
    ]
    return {**values, "contents": contents}


def _fetch(here: Here, uid: UUID) -> Drum:
    drum: Drum | None = Drum.objects.within(here.building).filter(uid=uid).select_related("site").first()
    if drum is None:
        raise Http404
    return drum


def _page(
    request: HttpRequest, here: Here, drum: Drum, sent: str, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    """`sent`: the act and the uid of what it was to be done to, whose form came back with `values` and `errors`."""
    state = drum_states(here.building, drum)[0]
    inside = batches_inside(here.building, drum)
    places = free_places(here.building, drum.site)
    hatches = [
        {
            "hatch": one,
            "may_open": one.stage == "empty" and state.open is None and drum.state == Drum.State.IN_SERVICE,
            "uid": uuid4(),
            "errors": errors if sent.endswith(str(one.place.uid)) else {},
        }
        for one in state.hatches
    ]
    households = Assignment.objects.within(here.building)
    act = sent.partition(" ")[0]
    bins = Place.objects.within(here.building).filter(site=drum.site, kind=Place.Kind.CURING_BIN).order_by("letter")
    return render(
        request,
        "pages/drum_care.html",
        {
            "state": state,
            "picture": picture(state),
            "hatches": hatches,
            "inside": [
                (batch, errors.get(f"to-{batch.uid}", ""), values.get(f"to-{batch.uid}", "")) for batch in inside
            ],
            "bins": [place for place in places if place.drum_id != drum.pk],
            "other_drums": list(
                Drum.objects.within(here.building)
                .filter(state=Drum.State.IN_SERVICE)
                .exclude(pk=drum.pk)
                .select_related("site")
                .order_by("site__name", "number")
            ),
            "households": households.filter(drum=drum).count(),
            "lent": households.filter(usual_drum=drum).count(),
            "has_open": any(batch.stage == Stage.FILLING for batch in inside),
            "uid": values.get("uid") if act == "states" and values.get("uid") else uuid4(),
            "states": {name: uuid4() for name in ("pause", "back", "out")},
            "turns": {"uid": uuid4(), "choices": Drum.Turns.choices, "now": values.get("turns", drum.turns)},
            "makes": [
                _make(one, values, errors if sent == f"{doing} {subject}" else {})
                for one, doing, subject in (
                    (state.hatches[0].place, "make", drum.uid),  # both halves of a drum are made alike
                    *((one, "bin-make", one.uid) for one in bins),
                )
            ],
            "sent": act,
            "values": values,
            "errors": errors,
        },
        status=status,
    )


def _make(place: Place, values: Mapping[str, str], errors: dict[str, str]) -> dict[str, Any]:
    """The form that asks what a drum, by its first hatch, or a curing bin is made of."""
    told = values if errors else {}
    return {
        "bin": place if place.kind == Place.Kind.CURING_BIN else None,
        "uid": uuid4(),
        "errors": errors,
        "walls": [(*one, one[0] == told.get("insulation", place.insulation)) for one in Place.Wall.choices],
        "airings": [(*one, one[0] == told.get("vents", place.vents)) for one in Place.Airing.choices],
        "since": told.get("since", ""),
    }


def page(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    return change(request, here, uid) if request.method == "POST" else show(request, here, uid)
