"""How a site shares its harvests: what is in force for lots that open from now on, set by the committee's decision."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.harvests.terms import NAMES, Change, set_terms
from bins.records import as_mapping
from households.models import LedgerRow, Site

from ..access import Rule
from .base import BuildingView
from .harvest_shapes import TermsIn, TermsOut
from .shapes import Problem


class SiteSharing(BuildingView):
    rules = {"GET": Rule("see", "sharing"), "POST": Rule("set", "sharing")}

    @extend_schema(
        responses={200: TermsOut, 401: Problem, 404: Problem},
        description="The rule of sharing for lots that open from now on.",
    )
    def get(self, request: Request, site: UUID) -> Response:
        found = Site.objects.within(self.here.building).filter(uid=site).first()
        if found is None:
            raise Http404
        return Response(self._shape(found))

    @extend_schema(
        request=TermsIn,
        responses={200: TermsOut, 401: Problem, 404: Problem, 422: Problem},
        description="Set it by a decision of the committee, which is written down with its reason. Lots that are open "
        "or working keep their own rule.",
    )
    def post(self, request: Request, site: UUID) -> Response:
        here, raw = self.here, {**as_mapping(request.data), "site": str(site)}
        try:
            told = Change.from_raw(raw)
            changed = set_terms(
                building=here.building,
                told=told.terms,
                decided=told.decided,
                by=here.actor.person,
                via=LedgerRow.Via.API,
                now=here.now,
            )
        except Site.DoesNotExist:
            raise Http404 from None
        return Response(self._shape(changed))

    def _shape(self, site: Site) -> dict[str, Any]:
        whole = {"site": site.uid} | {name: getattr(site, name) for name in NAMES}
        return {name: value for name, value in whole.items() if name in self.here.grant.fields}
