"""How a route into a building comes into being: with a rule, entered through the walls, answered inside them.

Nothing is rendered or streamed after a view: outside the walls a late query would see an empty table and the
answer would be a blank 200.
"""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.urls import URLPattern, path
from django.utils import timezone

from households.models import Building
from households.tenancy import inside

from .access import TABLE, Actor, Grant, Rule, admit, is_public


@dataclass(frozen=True)
class Here:
    """What a view in a building is given: the building, who came, what they may, and the one clock reading."""

    building: Building
    actor: Actor
    grant: Grant
    now: dt.datetime

    @property
    def today(self) -> dt.date:
        return self.building.local(self.now).date()

    def may(self, act: str, resource: str) -> bool:
        return admit(self.actor, Rule(act, resource)) is not None


View = Callable[..., HttpResponseBase]


def finish(response: HttpResponseBase) -> HttpResponseBase:
    """Render a lazy response now; refuse a streaming one."""
    if response.streaming:
        raise TypeError("a streamed answer would be read outside the walls")
    render = getattr(response, "render", None)
    return render() if callable(render) else response


def door(route: str, view: View, *, name: str, **rules: Rule) -> URLPattern:
    """A page route `b/<building>/...`. `rules` states one rule a method: get=Rule(...), post=Rule(...)."""
    by_method = {method.upper(): rule for method, rule in rules.items()}
    if not by_method or not set(by_method) <= {"GET", "POST"} or not set(by_method.values()) <= set(TABLE):
        raise LookupError(f"{name}: each method of a route states a rule of the access table")

    @wraps(view)
    def guarded(request: HttpRequest, building: UUID, **kwargs: Any) -> HttpResponseBase:
        method = "GET" if request.method == "HEAD" else request.method or ""
        rule = by_method.get(method)
        if rule is None:
            return HttpResponse(status=405, headers={"Allow": ", ".join(by_method)})
        user = request.user
        if not is_public(rule) and not user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        now = timezone.now()
        try:
            with inside(building) as found:
                actor = Actor.signed_in(user, found, found.local(now).date())
                grant = admit(actor, rule)
                if grant is None:
                    raise Http404
                request.here = here = Here(found, actor, grant, now)  # type: ignore[attr-defined]
                return finish(view(request, here, **kwargs))
        except Building.DoesNotExist:
            raise Http404 from None

    guarded.rules = by_method  # type: ignore[attr-defined]
    return path(f"b/<uuid:building>/{route}", guarded, name=name)


def rules_of(view: Any) -> Mapping[str, Rule] | None:
    """The rules stated for a page or API view; None where there are none."""
    return getattr(view, "rules", None) or getattr(getattr(view, "view_class", None), "rules", None)
