"""What is wrong with a lot: the likely cause in plain words, what speaks for it, what to do, and telling more."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.care.visit import CareVisit, record_visit
from bins.care.whats_wrong import Look, look
from bins.forecasts.shown import newest_of
from bins.models import Batch, ToldSymptom
from bins.process.diagnosis import Suspect
from bins.process.symptom import NEARER, Symptom
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building, LedgerRow

from ..cause_words import clause, sure
from ..doors import Here
from ..forecast_words import ready_line, remedied_line
from ..trouble_words import SYMPTOMS, cautions, clue, remedy, shown
from ..words import SQUEEZES


def page(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    batch = (
        Batch.objects.within(here.building)
        .live()
        .filter(uid=uid)
        .select_related("drum__site", "place__drum", "started_in")
        .first()
    )
    if batch is None:
        raise Http404
    if request.method != "POST":
        return _page(request, here, batch, {}, [], {})
    values, symptoms = request.POST.dict(), request.POST.getlist("symptoms")
    if not (symptoms or any(values.get(name, "").strip() for name in ("well", "squeeze", "temperature"))):
        return _page(
            request, here, batch, values, symptoms, {"symptoms": _("Tick what you see, or measure something.")}
        )
    try:
        told = CareVisit.from_raw(raw_look(request.POST, batch, here.building))
        record_visit(building=here.building, told=told, person=here.actor.person, via=LedgerRow.Via.WEB, now=here.now)
    except Refused as refused:
        errors = {name.removesuffix(f"-{batch.uid}"): text for name, text in refused.errors.items()}
        return _page(request, here, batch, values, symptoms, errors)
    except UidReused:
        kept = _("This was already sent with other values. The first one was kept as it is.")
        return _page(request, here, batch, values | {"uid": str(uuid4())}, symptoms, {"uid": kept})
    messages.success(request, _("Written down. This is how it looks now."))
    return HttpResponseRedirect(reverse("trouble", args=[here.building.uid, uid]))


def raw_look(post: QueryDict, batch: Batch, building: Building) -> dict[str, Any]:
    """The form in the shape that a visit's record reads: only names are mapped."""
    is_well = "well" in post
    reading = {
        "batch": str(batch.uid),
        "symptoms": [ToldSymptom.WELL] if is_well else post.getlist("symptoms"),
        "squeeze": post.get("squeeze", ""),
        "temperature": post.get("temperature", ""),
    }
    return {
        "uid": post.get("uid", ""),
        "drum": str(batch.drum.uid),
        "air": post.get("air", ""),
        "temperature_unit": "f" if building.units == Building.Units.US else "c",
        "readings": [reading],
    }


def _page(
    request: HttpRequest, here: Here, batch: Batch, values: dict[str, str], symptoms: list[str], errors: dict[str, str]
) -> HttpResponse:
    found = look(here.building, batch, here.now)
    first = found.suspects[0] if found.suspects else None
    return render(
        request,
        "pages/trouble.html",
        {
            "batch": batch,
            "answer": sure(first.cause, first.probability) if first else "",
            "supports": [clue(one.clue) for one in first.supports] if first else [],
            "opposes": [clue(one.clue) for one in first.opposes] if first else [],
            "others": [_other(one) for one in found.suspects[1:]],
            "steps": remedy(first.cause, found.figures, batch, here.building) if first else (),
            "cautions": cautions(found.findings.symptoms),
            "task": _task(found, here.building),
            "runs": _runs(here, batch) if found.task else None,
            "may_tell": here.may("add", "visit"),
            "symptoms": [(str(one), SYMPTOMS[one], one in symptoms) for one in Symptom if one not in NEARER],
            "squeezes": [(code, word, code == values.get("squeeze")) for code, word in SQUEEZES.items()],
            "told": bool(found.findings.symptoms),
            "uid": values.get("uid") or uuid4(),
            "values": values,
            "errors": errors,
        },
        status=422 if errors else 200,
    )


def _other(suspect: Suspect) -> dict[str, Any]:
    return {"clause": clause(suspect.cause), "supports": [clue(one.clue) for one in suspect.supports]}


def _runs(here: Here, batch: Batch) -> dict[str, str] | None:
    """When it would be ready with what is advised, beside without it, as reckoned last night. One query."""
    row = next(iter(newest_of(here.building, [batch.pk])), None)
    with_it = remedied_line(row, here.today) if row else ""
    return {"with_it": with_it, "without": ready_line(row, here.today)} if row and with_it else None


def _task(found: Look, building: Building) -> dict[str, Any] | None:
    """The proposal that waits for a tick; it may be a minute older than what the page has just thought."""
    if found.task is None:
        return None
    return {"decision": found.task, "trouble": shown(found.task, building)}
