"""RFC 9457 problem details: what happened, what was kept, what to do."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, JsonResponse
from django.utils.translation import gettext_lazy
from rest_framework import exceptions
from rest_framework.response import Response

from bins.cases.cases import PleasePhone
from bins.records import Refused
from households.ledger import UidReused

MEDIA_TYPE = "application/problem+json"
PROBLEM = {"$ref": "#/components/schemas/Problem"}

# code -> (title, what to do). The code is the last part of the `type` address, where the page explains it.
KINDS: dict[str, tuple[Any, Any]] = {
    "bad-request": (
        gettext_lazy("The request could not be read"),
        gettext_lazy("Nothing was kept. Send JSON as the API description says."),
    ),
    "not-signed-in": (
        gettext_lazy("No valid token came with the request"),
        gettext_lazy("Nothing was kept. Send the header Authorization: Bearer with a token of this building."),
    ),
    "forbidden": (
        gettext_lazy("The request was not let in"),
        gettext_lazy("Nothing was kept. Load the page again and send the form from there."),
    ),
    "not-found": (
        gettext_lazy("There is nothing here for you"),
        gettext_lazy("Nothing was kept. Check the address and which building the token belongs to."),
    ),
    "method-not-allowed": (
        gettext_lazy("This address does not take that method"),
        gettext_lazy("Nothing was kept. The API description lists the methods."),
    ),
    "invalid-record": (
        gettext_lazy("Some values cannot be right"),
        gettext_lazy("Nothing was kept. Mend the fields named in errors and send the same uid again."),
    ),
    "uid-reused": (
        gettext_lazy("This uid already stands for another record"),
        gettext_lazy("The first record was kept as it is. Send a new record under a new uid."),
    ),
    "not-now": (
        gettext_lazy("That cannot be done as things stand"),
        gettext_lazy("Nothing was changed. Look at the present state and decide again."),
    ),
    "please-phone": (
        gettext_lazy("As many reports as a day takes have come already"),
        gettext_lazy("Nothing was kept. Please phone: the building's page for reports has the number."),
    ),
    "server-error": (
        gettext_lazy("The fault is on our side"),
        gettext_lazy("Send it again with the same uid: a record arrives once."),
    ),
}


def is_api(request: HttpRequest) -> bool:
    return request.path.startswith("/api/")


def body(code: str, status: int, errors: Sequence[Mapping[str, str]] = ()) -> dict[str, Any]:
    title, detail = KINDS[code]
    found: dict[str, Any] = {
        "type": f"/problems/{code}/",
        "title": str(title),
        "status": status,
        "detail": str(detail),
    }
    if errors:
        found["errors"] = list(errors)
    return found


def problem(code: str, status: int) -> JsonResponse:
    return JsonResponse(body(code, status), status=status, content_type=MEDIA_TYPE)


def handle(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn what a view raised into problem details; None lets the last resort (a plain 500) speak."""
    errors: Sequence[Mapping[str, str]] = ()
    headers: dict[str, str] = {}
    match error:
        case Refused():
            code, status = "invalid-record", 422
            errors = [{"field": name, "message": str(message)} for name, message in error.errors.items()]
        case PleasePhone():
            code, status = "please-phone", 429
        case UidReused():
            code, status = "uid-reused", 422
        case exceptions.NotAuthenticated() | exceptions.AuthenticationFailed():
            code, status, headers = "not-signed-in", 401, {"WWW-Authenticate": "Bearer"}
        case Http404() | exceptions.NotFound():
            code, status = "not-found", 404
        case exceptions.MethodNotAllowed():
            code, status = "method-not-allowed", 405
        case PermissionDenied() | exceptions.PermissionDenied():
            code, status = "forbidden", 403
        case exceptions.APIException():
            code, status = "bad-request", error.status_code
        case _:
            return None
    return Response(body(code, status, errors), status=status, headers=headers, content_type=MEDIA_TYPE)


def described(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """A hook of the API's description: problems come under their own media type, not as plain JSON."""
    for path in result["paths"].values():
        for operation in path.values():
            for answer in operation["responses"].values():
                content = answer.get("content", {})
                for shape in [kind for kind, told in content.items() if told["schema"] == PROBLEM]:
                    content[MEDIA_TYPE] = content.pop(shape)
    return result
