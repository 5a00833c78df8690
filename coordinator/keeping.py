"""What a browser may keep of an answer: on a phone that is passed on, "back" must not show the last one's pages."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase


class KeepNothing:
    """Middleware. Whoever comes with a session or a key takes pages along that nothing keeps; a stranger's page may
    be kept, for a drum in a cellar, but is asked for anew where there is a line. Whoever sets the header is heard.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        is_known = (
            settings.SESSION_COOKIE_NAME in request.COOKIES
            or settings.SESSION_COOKIE_NAME in response.cookies
            or "Authorization" in request.headers
        )
        response.headers.setdefault("Cache-Control", "private, no-store" if is_known else "private, no-cache")
        return response
