"""One lot: what it is and where, what happened to it, and what can be done with it now."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from bins.care.heat import heat_on_record
from bins.care.history import history
from bins.care.maturity_tests import readable_from
from bins.care.moving import free_places
from bins.harvests.overs import overs_of
from bins.hatch import DrumState, drum_states
from bins.models import Batch, Decision, MaturityTest
from bins.process.proposal import Reason, Rule
from bins.process.stage import Stage
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building, LedgerRow

from ..care import ACTS, OF_BATCH, perform, reused
from ..doors import Here
from ..heat_words import heat_line
from ..picture import picture
from ..telling import tell
from ..trouble_words import shown
from ..words import STAGES, TESTS, why
from .amounts import volume


def show(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    return _page(request, here, _fetch(here, uid), "", {}, {}, 200)


def act(request: HttpRequest, here: Here, uid: UUID, act: str) -> HttpResponse:
    """Do what a form of this page says; refused, the page stands again with what was filled in."""
    if act not in OF_BATCH:
        raise Http404
    batch = _fetch(here, uid)
    values = request.POST.dict()
    try:
        perform(here, act, uid, values, LedgerRow.Via.WEB)
    except Refused as refused:
        return _page(request, here, batch, act, values, refused.errors, 422)
    except UidReused:
        return _page(request, here, batch, act, values | {"uid": str(uuid4())}, {"uid": reused()}, 422)
    messages.success(request, str(ACTS[act].said))
    return HttpResponseRedirect(reverse("batch", args=[here.building.uid, uid]))


def read_result(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """What a test of some batch showed."""
    test = MaturityTest.objects.within(here.building).filter(uid=uid).select_related("batch").first()
    if test is None:
        raise Http404
    unit = "f" if here.building.units == Building.Units.US else "c"
    values = request.POST.dict()
    try:
        perform(here, "results", uid, {"kind": test.kind, **values, "temperature_unit": unit}, LedgerRow.Via.WEB)
    except Refused as refused:
        batch = _fetch(here, test.batch.uid)
        return _page(request, here, batch, f"results {uid}", values, refused.errors, 422)
    except UidReused:
        batch = _fetch(here, test.batch.uid)
        return _page(request, here, batch, f"results {uid}", values | {"uid": str(uuid4())}, {"uid": reused()}, 422)
    messages.success(request, str(ACTS["results"].said))
    return HttpResponseRedirect(reverse("batch", args=[here.building.uid, test.batch.uid]))


def _fetch(here: Here, uid: UUID) -> Batch:
    batch: Batch | None = (
        Batch.objects.within(here.building)
        .filter(uid=uid)
        .select_related("drum__site", "place__drum", "started_in", "merged_into")
        .first()
    )
    if batch is None:
        raise Http404
    return batch


def _page(
    request: HttpRequest,
    here: Here,
    batch: Batch,
    sent: str,
    values: dict[str, Any],
    errors: dict[str, str],
    status: int,
) -> HttpResponse:
    """`sent`: the act whose form came back with `values` and `errors`."""
    stage = Stage(batch.stage)
    may_change = here.may("change", "batch") and stage.is_live
    state = _state_of(here, batch)
    events = history(here.building, batch)
    context: dict[str, Any] = {
        "batch": batch,
        "overs": volume(put_in, here.building) if (put_in := overs_of(here.building, batch)) else "",
        "stage": STAGES[batch.stage],
        "state": state,
        "picture": picture(state) if state else "",
        "heat": heat_line(heat_on_record(events), here.building),
        "events": [tell(event, here.building) for event in events],
        "overrides": [event for event in events if getattr(event.row, "cause", "") == "override"],
        "may_change": may_change,
        "may_tell": stage.is_live and here.may("see", "trouble"),
        "may_foresee": stage.is_live and here.may("see", "forecast"),
        "sent": sent,
        "values": values,
        "errors": errors,
    }
    if may_change:
        context |= {
            "tasks": _tasks(here, batch),
            "tests": _tests(here, batch),
            "test_kinds": [(kind, TESTS[kind]) for kind in MaturityTest.Kind.values],
            "one_back": STAGES[stage.one_back] if stage.one_back else None,
            "places": [
                place
                for place in free_places(here.building, batch.drum.site)
                if stage is not Stage.FILLING or place.drum_id == batch.drum_id
            ],
            "others": list(
                Batch.objects.within(here.building)
                .live()
                .filter(drum=batch.drum)
                .exclude(pk=batch.pk)
                .select_related("place", "drum")
            ),
            "uids": {name.replace("-", "_"): uuid4() for name in OF_BATCH},
        }
    return render(request, "pages/batch.html", context, status=status)


def _state_of(here: Here, batch: Batch) -> DrumState | None:
    """The drum as it stands, where the batch is in one."""
    drum = batch.place.drum if batch.place else None
    return drum_states(here.building, drum)[0] if drum else None


def _tasks(here: Here, batch: Batch) -> list[dict[str, Any]]:
    decisions = (
        Decision.objects.within(here.building)
        .proposed()
        .filter(batch=batch)
        .select_related("batch__drum__site", "batch__place", "next_place")
    )
    return [
        {
            "decision": decision,
            "why": why(decision),
            "moves_tag": decision.rule == Rule.CLOSE and decision.next_place is not None,
            "shuts_site": decision.rule == Rule.CLOSE and decision.next_place is None,
            "has_two_ways": decision.reason == Reason.FRESH_WHILE_READY,
            "trouble": shown(decision, here.building),
        }
        for decision in decisions.order_by("made_at", "pk")
    ]


def _tests(here: Here, batch: Batch) -> list[dict[str, Any]]:
    """Tests that were begun and not read."""
    rows = MaturityTest.objects.within(here.building).filter(
        batch=batch, result__isnull=True, reverses__isnull=True, reversed_by__isnull=True
    )
    return [
        {
            "test": test,
            "word": TESTS[test.kind],
            "from_at": readable_from(test),
            "is_early": readable_from(test) > here.now,
            "uid": uuid4(),
            "key": f"results {test.uid}",
        }
        for test in rows.order_by("counts_at", "pk")
    ]
