"""How much more the service does than the least that its database could do: ratios, nothing else.

Each measurement has its baseline beside it, taken by the same client in the same second, in turns; two
client processes work at once, since a single one swings threefold. Run by deploy/bench on PostgreSQL.
"""

import io
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import quantiles
from types import ModuleType, SimpleNamespace
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

CHECKOUT = Path(__file__).resolve().parent.parent
CLIENTS = 2
PAIRS = 300  # a client and a question; the first WARM_UP of them are not counted
WARM_UP = 20
STILL_MOMENTS = 500  # tries to find one
TOKEN = "b" * 32  # a form's token and its cookie: the same for every request


def main() -> None:
    owner, app = os.environ["TEST_DATABASE_URL"], os.environ["TEST_APP_DATABASE_URL"]
    os.environ |= {"DATABASE_URL": app, "OWNER_DATABASE_URL": owner}
    Path(os.environ["DATA_DIR"], "static").mkdir(parents=True, exist_ok=True)
    for role, command in (("owner", "migrate"), ("owner", "walls"), ("app", "demo")):
        words = [sys.executable, "manage.py", command, "-v0"]
        environment = os.environ | {"DATABASE_ROLE": role}
        subprocess.run(words, cwd=CHECKOUT, check=True, env=environment, stdout=subprocess.DEVNULL)  # noqa: S603
    import psycopg

    with psycopg.connect(owner) as database:
        database.execute("CREATE TABLE bench_bare (id bigserial PRIMARY KEY, note text NOT NULL)")
        database.execute("GRANT ALL ON bench_bare, bench_bare_id_seq TO app")

    clients = [
        subprocess.Popen([sys.executable, __file__, "client"], cwd=CHECKOUT, stdout=subprocess.PIPE)  # noqa: S603 (ourselves)
        for _ in range(CLIENTS)
    ]
    answers = [client.communicate()[0] for client in clients]
    if any(client.returncode for client in clients):
        sys.exit("A client failed; nothing was measured.")
    found = [json.loads(answer) for answer in answers]
    for question in found[0]:
        ratios = sorted(ratio for one in found for ratio in one[question])
        low, middle, high = quantiles(ratios, n=4)
        print(f"{question}: {middle:.1f} times (half between {low:.1f} and {high:.1f}; {len(ratios)} pairs)")  # noqa: T201 (its answer)


def client() -> None:
    """One client process: every question, pair after pair; the ratios go to the parent."""
    sys.path.insert(0, str(CHECKOUT))
    os.environ["DJANGO_SETTINGS_MODULE"] = "coordinator.settings"
    import django

    django.setup()
    import psycopg
    from django.core.handlers.wsgi import WSGIHandler
    from django.urls import reverse

    resident = somebody()
    service, bare = WSGIHandler(), bare_handler()
    drop_off = reverse("drop-off-form", args=[resident.building])
    month = reverse("month", args=[resident.building, resident.today.year, resident.today.month])
    # Statements are not kept prepared, as the service's own are not.
    database = psycopg.connect(os.environ["OWNER_DATABASE_URL"], autocommit=True, prepare_threshold=None)

    def post_drop_off() -> None:
        fields = {"uid": str(uuid4()), "drum": str(resident.drum), "quarter_pails": "4", "browns_cups": "2"}
        ask(service, "POST", drop_off, 302, resident.cookies, fields)

    def post_bare() -> None:
        ask(bare, "POST", "/", 200, "", {"note": str(uuid4())})

    def open_month() -> None:
        ask(service, "GET", month, 200, resident.cookies)

    found = {
        "Logging a pail / a bare view with one INSERT": in_turns(post_drop_off, post_bare),
        **month_measured(resident, database, open_month),
    }
    json.dump(found, sys.stdout)


def month_measured(resident: SimpleNamespace, database: Any, open_month: Callable[[], None]) -> dict[str, list[float]]:
    """The month's figures, and its whole page, each beside the same figures in raw SQL. Exits where they differ."""
    from bare_month import as_bare, bare_month, summed

    from bins.months.calendar import after
    from bins.months.figures import month
    from households.tenancy import inside

    first_day = resident.today.replace(day=1)
    with inside(resident.building) as here:
        days = (first_day, after(first_day))
        instants = tuple(map(here.instant, days))
        cursor = database.cursor()

        def bare() -> Any:
            return bare_month(cursor, here.pk, days, instants)

        # The other client may still be logging pails: what is compared is a moment in which it wrote nothing.
        for _ in range(STILL_MOMENTS):
            before, told, later = summed(bare()), as_bare(month(here, first_day)), summed(bare())
            if before == later:
                break
        if not before == told == later:
            sys.exit("The bare figures are not the service's: nothing was measured.")
        figures = in_turns(lambda: month(here, first_day), bare)
    return {
        "The month's figures / the same figures in raw SQL": figures,
        "The month's whole page / its figures in raw SQL (for information)": in_turns(open_month, bare),
    }


def in_turns(measured: Callable[[], Any], baseline: Callable[[], Any]) -> list[float]:
    """The ratios of pairs, each taken in turns, the other first every second time."""
    ratios = []
    for number in range(WARM_UP + PAIRS):
        if number % 2:
            under, over = seconds(baseline), seconds(measured)
        else:
            over, under = seconds(measured), seconds(baseline)
        ratios.append(over / under)
    return ratios[WARM_UP:]


def seconds(act: Callable[[], Any]) -> float:
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def ask(
    handler: Any, method: str, path: str, expected: int, cookies: str, fields: dict[str, str] | None = None
) -> None:
    """One request through the whole of a WSGI application, as a server makes it. Exits on another status."""
    body = urlencode({**fields, "csrfmiddlewaretoken": TOKEN}).encode() if fields else b""
    environ = {
        "REQUEST_METHOD": method,
        "PATH_INFO": path,
        "SCRIPT_NAME": "",
        "QUERY_STRING": "",
        "SERVER_NAME": "127.0.0.1",
        "SERVER_PORT": "80",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "REMOTE_ADDR": "127.0.0.1",
        "HTTP_HOST": "127.0.0.1",
        "HTTP_COOKIE": cookies,
        "CONTENT_TYPE": "application/x-www-form-urlencoded",
        "CONTENT_LENGTH": str(len(body)),
        "wsgi.url_scheme": "http",
        "wsgi.input": io.BytesIO(body),
        "wsgi.errors": sys.stderr,
    }
    statuses: list[str] = []
    answer = handler(environ, lambda status, headers, *_: statuses.append(status))
    said = b"".join(answer)
    answer.close()
    if not statuses[0].startswith(str(expected)):
        sys.exit(f"{method} {path}: {statuses[0]}\n{said.decode()[:2000]}")


def bare_handler() -> Any:
    """Django with no middleware and one view that writes one row."""
    from django.core.handlers.wsgi import WSGIHandler, WSGIRequest
    from django.db import connection
    from django.http import HttpRequest, HttpResponse
    from django.test import override_settings
    from django.urls import path

    def insert(request: HttpRequest) -> HttpResponse:
        with connection.cursor() as cursor:
            cursor.execute("INSERT INTO bench_bare (note) VALUES (%s)", [request.POST["note"]])
        return HttpResponse("kept")

    urls = ModuleType("urls")
    urls.urlpatterns = [path("", insert)]  # type: ignore[attr-defined]

    class BareRequest(WSGIRequest):
        urlconf = urls

    class BareHandler(WSGIHandler):
        request_class = BareRequest

    with override_settings(MIDDLEWARE=[]):
        return BareHandler()


def somebody() -> SimpleNamespace:
    """A resident of the invented block, signed in, with what the requests need to know."""
    from django.conf import settings
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore
    from django.utils import timezone

    from bins.models import Drum
    from households.models import Account, Person
    from households.tenancy import as_account, inside

    for account in Account.objects.filter(is_demo=True).order_by("pk"):
        with as_account(account):
            homes = list(
                Person.objects.filter(account=account, household__isnull=False).values_list("building__uid", flat=True)
            )
        if not homes:
            continue
        with inside(homes[0]) as building:
            drum = Drum.objects.within(building).order_by("pk")[0]
            today = building.local(timezone.now()).date()
        session = SessionStore()
        session[SESSION_KEY] = str(account.pk)
        session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
        session[HASH_SESSION_KEY] = account.get_session_auth_hash()
        session.save()
        names = {settings.SESSION_COOKIE_NAME: session.session_key, settings.CSRF_COOKIE_NAME: TOKEN}
        return SimpleNamespace(
            building=building.uid,
            building_id=building.pk,
            drum=drum.uid,
            today=today,
            cookies="; ".join(f"{name}={value}" for name, value in names.items()),
        )
    sys.exit("The invented block has no resident who could log a pail.")


if __name__ == "__main__":
    client() if sys.argv[1:] == ["client"] else main()
