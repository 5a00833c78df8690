"""Asking for everything in one file, and fetching it while it is kept."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from bins.records import Reader
from households.kept_files import KEPT, ask_for_export, waiting_exports
from households.models import KeptFile

from ..doors import Here


def page(request: HttpRequest, here: Here) -> HttpResponse:
    """What is kept, and asking for a new one."""
    if request.method == "POST":
        uid = Reader(request.POST.dict()).uid()
        ask_for_export(building=here.building, uid=uid, person=here.actor.person, now=here.now)
        messages.success(request, _("It is being made. Look here again in a minute."))
        return HttpResponseRedirect(reverse("exports", args=[here.building.uid]))
    kept = KeptFile.objects.within(here.building).defer("content").order_by("-made_at", "uid")
    return render(
        request,
        "pages/exports.html",
        {
            "uid": uuid4(),
            "waiting": waiting_exports(here.building),
            "files": [
                (file, here.building.local(file.made_at), here.building.local(file.made_at + KEPT)) for file in kept
            ],
            "days": KEPT.days,
        },
    )


def fetch(request: HttpRequest, here: Here, uid: UUID) -> HttpResponse:
    file = KeptFile.objects.within(here.building).filter(uid=uid).first()
    if file is None:
        raise Http404
    return HttpResponse(
        bytes(file.content),
        content_type="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{file.name}"'},
    )
