"""Bringing in a building's own log sheets: choose a file, look at what would go in, say yes."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from bins.models import ImportRun
from bins.records import Reader, Refused
from bins.sheets.importing import Plan, bring_in, faults_by_line, plan, take_file
from bins.sheets.sheet_words import HEADINGS, NEEDED, offered
from bins.sheets.sheets import MOST_BYTES
from households.ledger import UidReused
from households.models import Building

from ..csv_out import csv_file
from ..doors import Here

SHOWN = 50  # rows that are named on the page; all of them stand in the file
SEMICOLON = ("es", "fr")  # where the comma stands inside numbers, programs part cells by a semicolon


def page(request: HttpRequest, here: Here) -> HttpResponse:
    if request.method == "POST":
        return add(request, here)
    return _form(request, here, {"uid": str(uuid4())}, {}, 200)


def add(request: HttpRequest, here: Here) -> HttpResponse:
    values = request.POST.dict()
    reader, file = Reader(values), request.FILES.get("file")
    uid, kind = reader.uid(), reader.choice("kind", [*ImportRun.Kind.values])
    if file is None:
        reader.errors["file"] = _("Which file is it?")
    elif (file.size or 0) > MOST_BYTES:
        reader.errors["file"] = _("The file is larger than 2 MB. Cut it into parts.")
    try:
        reader.finish()
        assert file is not None  # or there was an error
        run = take_file(
            building=here.building, uid=uid, kind=kind, content=file.read(), person=here.actor.person, now=here.now
        )
    except Refused as refused:
        return _form(request, here, values, refused.errors, 422)
    except UidReused:
        return _form(request, here, values | {"uid": str(uuid4())}, {"file": _("Please choose the file again.")}, 422)
    return HttpResponseRedirect(reverse("import-run", args=[here.building.uid, run.uid]))


def run(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """The dry run, or what came of the yes."""
    found = _run(here, uid)
    if request.method == "POST":
        done = bring_in(building=here.building, uid=uid, person=here.actor.person, now=here.now)
        messages.success(request, _("Written down. The file itself was deleted."))
        return HttpResponseRedirect(reverse("import-run", args=[here.building.uid, done.uid]))
    if found.state == ImportRun.State.DONE:
        lines = len({line for line, _field, _reason in found.refused})
        return render(request, "pages/import_done.html", {"run": found, "refused_rows": lines})
    planned = plan(here.building, found, here.now)
    by_line = faults_by_line(planned.faults)
    return render(
        request,
        "pages/import_run.html",
        {
            "run": found,
            "kind": ImportRun.Kind(found.kind).label,
            "plan": planned,
            "unknown": ", ".join(planned.unknown),
            "faults": list(by_line.items())[:SHOWN],
            "more": max(0, len(by_line) - SHOWN),
            "notes": planned.notes[:SHOWN],
        },
    )


def refused(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    """Each cell that keeps a row out: line, field, reason, and what stands there while the file is here."""
    found = _run(here, uid)
    rows: list[Any]
    if found.state == ImportRun.State.DONE:
        rows = [[_("Line"), _("Field"), _("Reason")], *found.refused]
    else:
        planned: Plan = plan(here.building, found, here.now)
        rows = [
            [_("Line"), _("Field"), _("Reason"), _("What stands there")],
            *([fault.line, fault.field, fault.reason, fault.value] for fault in planned.faults),
        ]
    return csv_file(f"refused-{found.kind}.csv", rows)


def template(request: HttpRequest, here: Here, kind: str) -> HttpResponse:
    """An empty sheet with its headings in the reader's language."""
    if kind not in HEADINGS:
        raise Http404
    language = get_language() or "en"
    headings = [words.get(language, words["en"])[0] for words in offered(kind, is_us=_is_us(here)).values()]
    return csv_file(f"{kind}.csv", [headings], ";" if language in SEMICOLON else ",")


def _is_us(here: Here) -> bool:
    return here.building.units == Building.Units.US


def _run(here: Here, uid: UUID) -> ImportRun:
    found: ImportRun | None = ImportRun.objects.within(here.building).filter(uid=uid).first()
    if found is None:
        raise Http404
    return found


def _form(
    request: HttpRequest, here: Here, values: dict[str, Any], errors: dict[str, str], status: int
) -> HttpResponse:
    language = get_language() or "en"
    kinds = [
        {
            "value": value,
            "label": label,
            "is_chosen": value == values.get("kind", ImportRun.Kind.CONTRIBUTIONS),
            "headings": [
                (words.get(language, words["en"])[0], field in NEEDED[value])
                for field, words in offered(value, is_us=_is_us(here)).items()
            ],
        }
        for value, label in ImportRun.Kind.choices
    ]
    return render(request, "pages/import.html", {"values": values, "errors": errors, "kinds": kinds}, status=status)
