"""Answers for what went wrong before a view could speak. Never a stack trace."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from .api.problems import is_api, problem
from .doors import Here


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return render(request, "403_csrf.html", status=403)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return problem("bad-request", 400) if is_api(request) else render(request, "400.html", status=400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return problem("forbidden", 403) if is_api(request) else render(request, "403.html", status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    if is_api(request):
        return problem("not-found", 404)
    here: Here | None = getattr(request, "here", None)
    # To the first page: for who has no home here that is not the drum in the address, which may be what isn't there.
    first = {} if here is not None and here.may("see", "home") else {"building_url": reverse("home")}
    return render(request, "404.html", first, status=404)


def server_error(request: HttpRequest, *args: Any) -> HttpResponse:
    return problem("server-error", 500) if is_api(request) else render(request, "500.html", status=500)
