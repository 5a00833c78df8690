"""Setting up one's own building: what the first pail needs, on one page."""

import zoneinfo
from typing import Any
from uuid import uuid4

from django.contrib.auth.decorators import login_required
from django.db import IntegrityError
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from django.views.decorators.http import require_http_methods

from bins.founding import Block, found_block
from bins.models import Drum
from bins.records import Refused
from households.models import Account, Building, Site


@require_http_methods(["GET", "POST"])
@login_required
def setup(request: HttpRequest) -> HttpResponse:
    """Any account but a demo one may found a building; it sees nothing of anybody else's."""
    account = request.user
    assert isinstance(account, Account)
    if account.is_demo:
        raise Http404
    if request.method != "POST":
        return _page(request, {"uid": str(uuid4()), "drums": "1", "chamber_litres": "100"}, {}, 200)
    values = request.POST.dict()
    try:
        block = Block.from_raw(values, get_language() or "en")
        founded = found_block(block=block, email=account.email, now=timezone.now())
    except Refused as refused:
        return _page(request, values, refused.errors, 422)
    except IntegrityError:  # sent twice: the block of the first time stands
        return HttpResponseRedirect(reverse("home"))
    return HttpResponseRedirect(reverse("building", args=[founded.building.uid]))


def _page(request: HttpRequest, values: dict[str, Any], errors: dict[str, str], status: int) -> HttpResponse:
    return render(
        request,
        "pages/setup.html",
        {
            "values": values,
            "errors": errors,
            "zones": sorted(zoneinfo.available_timezones()),
            "units": Building.Units.choices,
            "airs": Site.Air.choices,
            "splits": Drum.Split.choices,
        },
        status=status,
    )
