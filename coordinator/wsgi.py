"""The web application, for whichever server runs it."""

import os
from collections.abc import Callable, Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coordinator.settings")
_answer = get_wsgi_application()


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Requests are UTF-8, whatever their header says.

    Python knows "encodings" that unpack or fail (zlib, hex), and anybody may name one: the request would break before
    there is a page to say so.
    """
    kind, *told = environ.get("CONTENT_TYPE", "").split(";")
    parts = [part for part in told if not part.strip().lower().startswith("charset")]
    environ["CONTENT_TYPE"] = ";".join([kind, *parts])
    return _answer(environ, start_response)
