"""A view of the API in a building: entered through the walls, admitted by the access table."""

from collections.abc import Mapping
from typing import Any, ClassVar
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponseBase
from django.urls import URLPattern, path
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from rest_framework.exceptions import NotAuthenticated, ParseError
from rest_framework.parsers import JSONParser
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.views import APIView

from households.models import Building, Person
from households.tenancy import inside

from ..access import TABLE, Actor, Rule, admit, is_public
from ..doors import Here, finish


class Json(JSONParser):
    def parse(self, *args: Any, **kwargs: Any) -> Any:
        try:
            return super().parse(*args, **kwargs)
        except RecursionError:  # a thousand brackets deep: the sender's fault, not ours
            raise ParseError from None


class BuildingView(APIView):
    """Subclasses state one rule a method. `self.here` is the building, the caller, the grant and the clock."""

    rules: ClassVar[Mapping[str, Rule]] = {}
    parser_classes = (Json,)
    permission_classes = (AllowAny,)  # the access table decides, in `initial`
    # OPTIONS would be answered by the framework, past the table.
    http_method_names = [name for name in APIView.http_method_names if name != "options"]
    here: Here

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        rule = self.rules.get("GET" if request.method == "HEAD" else request.method or "")
        if rule is None:
            return  # no handler either: the framework answers that the method is not allowed
        caller: Any = request.user  # an account, nobody, or by token a person
        if not is_public(rule) and not (isinstance(caller, Person) or caller.is_authenticated):
            raise NotAuthenticated
        now = timezone.now()
        building: Building | None = request._request.building  # type: ignore[attr-defined]
        if building is None:
            raise Http404
        actor = self._actor(request, building, now)
        grant = admit(actor, rule)
        if grant is None:
            raise Http404
        self.here = Here(building, actor, grant, now)

    @staticmethod
    def _actor(request: Request, building: Building, now: Any) -> Actor:
        today = building.local(now).date()
        caller: Any = request.user
        if isinstance(caller, Person):  # by token
            return Actor.of(caller, today)
        return Actor.signed_in(caller, building, today)


def api_door(route: str, view: type[BuildingView], *, name: str) -> URLPattern:
    """A route `api/buildings/<building>/...`; refuses a view with a method that has no rule of the access table."""
    handled = {name.upper() for name in view.http_method_names if hasattr(view, name)}
    if not view.rules or handled != set(view.rules) or not set(view.rules.values()) <= set(TABLE):
        raise LookupError(f"{name}: each method of a route states a rule of the access table")
    inner = view.as_view()

    def guarded(request: HttpRequest, building: UUID, **kwargs: Any) -> HttpResponseBase:
        # An unknown building goes through the same steps as one that the caller has no place in.
        try:
            with inside(building) as found:
                request.building = found  # type: ignore[attr-defined]
                return finish(inner(request, **kwargs))
        except Building.DoesNotExist:
            request.building = None  # type: ignore[attr-defined]
            return finish(inner(request, **kwargs))

    # Both are asked for by others: the rules by the test of all routes, the class by the schema's generator.
    guarded.rules = view.rules  # type: ignore[attr-defined]
    guarded.cls = view  # type: ignore[attr-defined]
    guarded.initkwargs = {}  # type: ignore[attr-defined]
    return path(f"api/buildings/<uuid:building>/{route}", csrf_exempt(guarded), name=name)
