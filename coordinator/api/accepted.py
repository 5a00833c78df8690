"""What goes in and what stays out. Public to read, like the sign on the drum."""

from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.intake.accepting import Edition, change_list, lines_of, versions
from bins.models import AcceptedList
from bins.records import Reader, Refused, as_mapping
from households.models import LedgerRow, Site

from ..access import Rule
from .base import BuildingView
from .mix_shapes import AcceptedIn, AcceptedOut
from .shapes import Problem


class Accepted(BuildingView):
    rules = {"GET": Rule("see", "accepted"), "POST": Rule("set", "accepted")}

    @extend_schema(
        parameters=[OpenApiParameter("version", int, description="An older version by its number.")],
        responses={200: AcceptedOut, 404: Problem, 422: Problem},
        description="A site's list as it counts now, or an older version.",
    )
    def get(self, request: Request, site: UUID) -> Response:
        reader = Reader(request.query_params)
        number = reader.whole("version", 1, 30_000)
        reader.finish()
        every = versions(self.here.building, self._site(site))
        version = (every.filter(version=number) if number else every).first()
        if version is None:
            raise Http404
        return Response(self._shape(version))

    @extend_schema(
        request=AcceptedIn,
        responses={200: AcceptedOut, 401: Problem, 404: Problem, 422: Problem},
        description="Make the next version. A thing that is not named gets the usual verdict; another verdict needs a "
        "note. The list in force comes back where nothing differs.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        version = change_list(
            building=self.here.building,
            site=self._site(site),
            told=Edition.from_raw(flat(request.data)),
            person=self.here.actor.person,
            via=LedgerRow.Via.API,
            now=self.here.now,
        )
        return Response(self._shape(version))

    def _site(self, uid: UUID) -> Site:
        found: Site | None = Site.objects.within(self.here.building).filter(uid=uid).first()
        if found is None:
            raise Http404
        return found

    def _shape(self, version: AcceptedList) -> dict[str, Any]:
        whole = {
            "uid": version.uid,
            "site": version.site.uid,
            "version": version.version,
            "dated": self.here.building.local(version.counts_at).date(),
            "items": [{"key": line.key, "verdict": line.verdict, "note": line.note} for line in lines_of(version)],
        }
        return {name: value for name, value in whole.items() if name in self.here.grant.fields}


def flat(data: Any) -> dict[str, Any]:
    """The items of a JSON body under the names that the form has. Refused for what is no list of items."""
    raw = as_mapping(data)
    items = raw.get("items") or []
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        raise Refused({"items": _("A list of things, each with key, verdict and note, is needed.")})
    found: dict[str, Any] = {"uid": raw.get("uid")}
    for item in items:
        found |= {f"{name}-{item.get('key')}": item.get(name) for name in ("verdict", "note")}
    return found
