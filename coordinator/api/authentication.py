"""Who calls the API: a bearer token of this building, or a signed-in browser (with its CSRF check)."""

import datetime as dt
from typing import Any

from django.utils import timezone
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import SessionAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from households.models import ApiToken, Building


class TokenOrSession(SessionAuthentication):
    """Gives request.user; request.auth is the token or None. A token opens only the building it was made in."""

    def authenticate(self, request: Request) -> tuple[Any, Any] | None:
        header = get_authorization_header(request).split()
        if not header:
            return super().authenticate(request)
        if len(header) != 2 or header[0].lower() != b"bearer":
            raise AuthenticationFailed
        return self._token(request, header[1])

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"

    def _token(self, request: Request, secret: bytes) -> tuple[Any, Any]:
        building: Building | None = getattr(request._request, "building", None)
        now = timezone.now()
        token = (
            ApiToken.objects.within(building)
            .filter(secret_hash=ApiToken.hash_of(secret.decode("latin-1")))
            .filter(revoked_at__isnull=True, expires_at__gt=now)
            .exclude(person__account__is_active=False)  # paper residents have no account to shut
            .select_related("person__account", "person__household", "person__building")
            .first()
            if building
            else None
        )
        if token is None:
            raise AuthenticationFailed
        _note_use(token, now.date())
        return token.person, token


def _note_use(token: ApiToken, day: dt.date) -> None:
    """Once a day is enough to see that a token is in use; a write each call would be a lock each call."""
    if token.last_used_on != day:
        ApiToken.objects.filter(pk=token.pk).update(last_used_on=day)


class Described(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """How the API's description words it: by token; a browser's session is the pages' own affair."""

    target_class = TokenOrSession
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {"type": "http", "scheme": "bearer", "description": "A token of this building, made on its page."}
