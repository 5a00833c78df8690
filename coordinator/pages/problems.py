"""What a problem type of the API means, at the address that the problem names."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from ..api.problems import KINDS


def explain(request: HttpRequest, code: str) -> HttpResponse:
    if code not in KINDS:
        raise Http404
    title, detail = KINDS[code]
    return render(request, "pages/problem.html", {"code": code, "title": title, "detail": detail})
