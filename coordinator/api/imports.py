"""A building's own log sheets: sent for a dry run, looked at, and brought in by a second call."""

from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.models import ImportRun
from bins.records import Reader, as_mapping
from bins.sheets.importing import bring_in, plan, take_file
from bins.sheets.sheets import MOST_BYTES

from ..access import Rule
from .base import BuildingView
from .entry_shapes import ImportIn, ImportOut
from .shapes import Problem


class OfImport(BuildingView):
    def shape(self, run: ImportRun) -> dict[str, Any]:
        """What would go in, or what came of the yes, with each cell that keeps a row out."""
        if run.state == ImportRun.State.DONE:
            refused = [{"line": line, "field": field, "reason": reason} for line, field, reason in run.refused]
            counts = {"rows_in": run.added, "known_before": run.known_before, "unknown_columns": []}
        else:
            planned = plan(self.here.building, run, self.here.now)
            refused = [{"line": fault.line, "field": fault.field, "reason": fault.reason} for fault in planned.faults]
            counts = {
                "rows_in": len(planned.ready),
                "known_before": planned.known_before,
                "unknown_columns": list(planned.unknown),
            }
        return {"uid": run.uid, "kind": run.kind, "state": run.state, **counts, "refused": refused}

    def one(self, uid: UUID) -> ImportRun:
        run: ImportRun | None = ImportRun.objects.within(self.here.building).filter(uid=uid).first()
        if run is None:
            raise Http404
        return run


class Imports(OfImport):
    rules = {"POST": Rule("add", "import")}

    @extend_schema(
        request=ImportIn,
        responses={200: ImportOut, 401: Problem, 404: Problem, 422: Problem},
        description="A dry run: nothing goes into the books. The file is kept for a day at most.",
    )
    def post(self, request: Request) -> Response:
        raw = as_mapping(request.data)
        reader = Reader(raw)
        uid, kind, text = reader.uid(), reader.choice("kind", [*ImportRun.Kind.values]), raw.get("text")
        # Half of a pair of signs is allowed in JSON and has no bytes: a question mark stands for it.
        content = text.encode(errors="replace") if isinstance(text, str) else None
        if content is None or len(content) > MOST_BYTES:
            reader.errors["text"] = _("The sheet as text is needed, at most 2 MB.")
        reader.finish()
        assert content is not None  # or there was an error
        here = self.here
        run = take_file(
            building=here.building,
            uid=uid,
            kind=kind,
            content=content,
            person=here.actor.person,
            now=here.now,
        )
        return Response(self.shape(run))


class OneImport(OfImport):
    rules = {"GET": Rule("see", "import")}

    @extend_schema(responses={200: ImportOut, 401: Problem, 404: Problem})
    def get(self, request: Request, uid: UUID) -> Response:
        return Response(self.shape(self.one(uid)))


class BringIn(OfImport):
    rules = {"POST": Rule("add", "import")}

    @extend_schema(
        request=None,
        responses={200: ImportOut, 401: Problem, 404: Problem},
        description="Write all good rows into the books, or none. Doing so twice adds nothing.",
    )
    def post(self, request: Request, uid: UUID) -> Response:
        self.one(uid)
        here = self.here
        return Response(self.shape(bring_in(building=here.building, uid=uid, person=here.actor.person, now=here.now)))
