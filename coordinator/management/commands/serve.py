"""The whole service in one process: web requests by waitress, due jobs by one thread beside it."""

import errno
import sys
from typing import Any

from django.conf import settings
from django.core.checks import Tags
from django.core.management.base import BaseCommand
from waitress.server import create_server

from coordinator.checks import refuse_the_owner
from coordinator.jobs.loop import jobs_until_told_to_end
from coordinator.wsgi import application
from households.models import Account

THREADS = 8  # chosen: a small block's busiest minute, and few enough for SQLite's one writer
MOST_SENT_BYTES = 50_000_000  # three photos of 15 MB; bodies are read before it is known who sends them


class Command(BaseCommand):
    help = "Serves the web pages and runs due jobs, until Ctrl-C."

    def handle(self, *args: Any, **options: Any) -> None:
        refuse_the_owner()
        self.check(tags=[Tags.database], databases=["default"])  # the walls hold the role that we are
        try:
            server = open_server()
        except OSError as error:
            self.stderr.write(why_not(error))
            sys.exit(1)
        with jobs_until_told_to_end():
            self.stdout.write(greeting())
            self.stdout.flush()
            server.run()  # answers what was begun, for 5 s at most, before it returns
        server.close()


def open_server() -> Any:
    """Takes the port: for this machine alone, unless PUBLIC_URL says that others are meant to come."""
    # Behind a proxy on this machine, its word on who is asking is taken; nobody else's.
    proxy = {"trusted_proxy": "127.0.0.1", "trusted_proxy_headers": "x-forwarded-for"}
    return create_server(
        application,
        host="0.0.0.0" if settings.PUBLIC_URL else "127.0.0.1",  # noqa: S104 (as PUBLIC_URL asks)
        port=settings.PORT,
        threads=THREADS,
        max_request_body_size=MOST_SENT_BYTES,
        url_scheme="https" if settings.IS_SECURE else "http",
        ident="",
        clear_untrusted_proxy_headers=True,
        **(proxy if settings.PUBLIC_URL else {}),
    )


def why_not(error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return (
            f"Port {settings.PORT} is taken, perhaps by an earlier start. "
            f"End that one, or choose another port: PORT={settings.PORT % 65535 + 1} sh deploy/start"
        )
    if error.errno == errno.EACCES:
        return f"Port {settings.PORT} is not open to this user. Choose another: PORT=8000 sh deploy/start"
    return f"Port {settings.PORT} could not be opened: {error.strerror}"


def greeting() -> str:
    address = settings.PUBLIC_URL or f"http://127.0.0.1:{settings.PORT}"
    demo = f"  look round the invented block:  {address}/demo/\n" if Account.objects.has_demo() else ""
    return (
        f"The compost drums are at {address}\n"
        f"{demo}"
        f"  set up your own building:       {address}/setup/\n"
        "Ctrl-C ends it; what was recorded stays."
    )
