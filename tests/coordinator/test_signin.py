"""Sign-in by mailed code: through the outbox, with limits in the database, and nothing told of who is known."""

import datetime as dt
import re
from typing import Any

import pytest
import time_machine
from django.core import mail
from django.core.cache import caches
from django.db import connection
from django.test import Client
from django.utils import timezone

from coordinator.jobs.run import run_due
from households.models import Account, Notice
from tests.cast import NOW, Cast, account_of, newcomer
from tests.filled import go_outside

pytestmark = pytest.mark.embedded

BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
KNOWN = "imani@quince-court.invalid"
CODE_PAGE = "/sign-in/code/"
REFUSED = 200  # the form again, with the reason beside its field


@pytest.fixture(autouse=True)
def _quiet(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("ERROR", "django.request")


def ask(email: str, client: Client | None = None, **more: str) -> tuple[Client, Any]:
    client = client or Client()
    return client, client.post("/sign-in/", {"email": email, **more})


def deliver() -> None:
    run_due(timezone.now())
    go_outside()


def code_of(message: Any) -> str:
    found: str = re.findall(r"^\s*([A-Z0-9]{3,}-?[A-Z0-9]{3,})\s*$", message.body, re.MULTILINE)[0]
    return found


def who(client: Client) -> Any:
    return client.session.get("_auth_user_id")


def test_the_code_comes_by_the_outbox_works_once_and_lies_about_nowhere_afterwards(cast: Cast) -> None:
    client, answer = ask(KNOWN)
    assert (answer.status_code, answer.headers["Location"]) == (302, CODE_PAGE)
    assert mail.outbox == [], "the page sends nothing itself"
    notice = Notice.objects.get(kind="sign-in")
    assert notice.sent_at is None

    deliver()
    (message,) = mail.outbox
    assert message.to == [KNOWN]
    code = code_of(message)
    notice.refresh_from_db()
    assert (notice.body, notice.sent_at is not None) == ("", True)
    deliver()
    assert len(mail.outbox) == 1, "sent once"

    assert who(client) is None, "a code asked for opens nothing yet"
    answer = client.post(CODE_PAGE, {"code": code})
    assert answer.status_code == 302
    assert who(client) == str(account_of(cast.resident).pk)
    assert client.get("/").headers["Location"] == f"/b/{cast.building.uid}/"

    with connection.cursor() as cursor:
        for table in ("households_notice", "households_job", "coordinator_cache"):
            cursor.execute(f"SELECT * FROM {table}")
            assert code not in repr(cursor.fetchall()), table
    other = Client()
    other.cookies = ask(KNOWN)[0].cookies
    other.post(CODE_PAGE, {"code": code})
    assert who(other) is None, "the code was good once, for the browser that asked"


def test_the_wrong_code_three_times_ends_it(cast: Cast) -> None:
    client, _ = ask(KNOWN)
    deliver()
    code = code_of(mail.outbox[0])
    for _ in range(2):
        answer = client.post(CODE_PAGE, {"code": "WRONG1"})
        assert (answer.status_code, who(client)) == (200, None)
    assert client.post(CODE_PAGE, {"code": "WRONG1"}).status_code == 302
    client.post(CODE_PAGE, {"code": code})
    assert who(client) is None
    client, _ = ask(KNOWN)
    deliver()
    client.post(CODE_PAGE, {"code": "WRONG1"})
    client.post(CODE_PAGE, {"code": "WRONG1"})
    client.post(CODE_PAGE, {"code": code_of(mail.outbox[1])})
    assert who(client) is not None, "the control: after two the right one still works"


@pytest.mark.parametrize(("seconds", "works"), [(899, True), (900, True), (901, False)])
def test_a_code_is_good_for_fifteen_minutes(cast: Cast, seconds: int, works: bool) -> None:
    with time_machine.travel(NOW, tick=False):
        client, _ = ask(KNOWN)
        deliver()
    with time_machine.travel(NOW + dt.timedelta(seconds=seconds), tick=False):
        client.post(CODE_PAGE, {"code": code_of(mail.outbox[0])})
        assert (who(client) is not None) == works


def test_an_unknown_address_gets_the_same_page_and_its_mail_has_no_code(cast: Cast) -> None:
    unknown = "nobody@quince-court.invalid"  # as long as the known one, so that pages are alike to the byte
    pages = {}
    for email in (KNOWN, unknown):
        client, answer = ask(email)
        page = client.get(answer.headers["Location"]).content.decode().replace(email, "ADDRESS")
        wrong = client.post(CODE_PAGE, {"code": "WRONG1"})
        page += wrong.content.decode().replace(email, "ADDRESS")
        without_csrf = re.sub(r'value="\w{64}"', "", page)
        pages[email] = answer.status_code, answer.headers["Location"], wrong.status_code, without_csrf
    assert pages[KNOWN] == pages[unknown]
    deliver()
    assert sorted(message.to[0] for message in mail.outbox) == [KNOWN, unknown]
    (told,) = [message for message in mail.outbox if message.to == [unknown]]
    assert not re.search(r"^\s*[A-Z0-9]{3,}-?[A-Z0-9]{3,}\s*$", told.body, re.MULTILINE)
    assert not Account.objects.filter(email=unknown).exists()


def limits() -> int:
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM coordinator_cache WHERE cache_key LIKE '%request_login_code%'")
        found: int = cursor.fetchone()[0]
        return found


def test_the_fourth_code_for_one_address_within_a_minute_is_refused_by_a_row_in_the_database(cast: Cast) -> None:
    answers = [ask(KNOWN)[1] for _ in range(4)]  # each from another browser
    assert [answer.status_code for answer in answers] == [302, 302, 302, REFUSED]
    assert "many codes in a short time" in answers[3].content.decode()
    assert ask(KNOWN.upper())[1].status_code == REFUSED, "however it is written"
    assert ask("sorin@quince-court.invalid")[1].status_code == 302, "another address is not held up"
    assert limits() >= 2
    # A new process begins with an empty memory; what it would know is what a new connection to the cache reads.
    caches["default"].close()
    del caches["default"]
    assert ask(KNOWN)[1].status_code == REFUSED
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM coordinator_cache")
    assert ask(KNOWN)[1].status_code == 302, "the row was the limit"
    deliver()
    assert len(mail.outbox) == 5


def test_an_address_gets_twelve_codes_an_hour_however_they_are_spread(cast: Cast) -> None:
    first = dt.datetime(2026, 5, 4, 16, 0, tzinfo=dt.UTC)
    at = [first + dt.timedelta(minutes=4 * number) for number in range(13)]
    for number, moment in enumerate([*at, first + dt.timedelta(hours=1, seconds=1)]):
        with time_machine.travel(moment, tick=False):
            assert ask(KNOWN)[1].status_code == (REFUSED if number == 12 else 302), number


def test_a_header_that_anybody_can_write_makes_no_new_caller(cast: Cast) -> None:
    answers = [
        Client().post("/sign-in/", {"email": f"a{n}@x.invalid"}, headers={"X-Forwarded-For": f"10.0.0.{n}"}).status_code
        for n in range(21)
    ]
    assert answers == [302] * 20 + [REFUSED], "twenty a minute from one machine"


def test_a_new_address_signs_up_with_a_code_and_can_found_a_building(cast: Cast) -> None:
    client = Client()
    answer = client.post("/sign-up/", {"email": "Wren@Elsewhere.invalid"})
    assert (answer.status_code, answer.headers["Location"]) == (302, "/sign-up/code/")
    assert who(client) is None
    deliver()
    answer = client.post("/sign-up/code/", {"code": code_of(mail.outbox[0])})
    assert answer.status_code == 302
    account = Account.objects.get(email__iexact="wren@elsewhere.invalid")
    assert who(client) == str(account.pk)
    assert (account.is_demo, account.has_usable_password()) == (False, False)
    assert client.get("/setup/", follow=True).status_code == 200
    assert client.get(f"/b/{cast.building.uid}/").status_code == 404


def test_signing_up_with_a_known_address_tells_its_owner_and_not_the_asker(cast: Cast) -> None:
    known, new = Client(), Client()
    one, other = (c.post("/sign-up/", {"email": e}) for c, e in ((known, KNOWN), (new, "nobody@quince-court.invalid")))
    assert (one.status_code, one.headers["Location"]) == (other.status_code, other.headers["Location"])
    deliver()
    (told,) = [message for message in mail.outbox if message.to == [KNOWN]]
    with pytest.raises(IndexError):
        code_of(told)
    assert Account.objects.filter(email__iexact=KNOWN).count() == 1


@pytest.mark.parametrize("target", ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:evil"])
def test_nobody_is_sent_to_a_foreign_address_after_signing_in_or_choosing_a_language(cast: Cast, target: str) -> None:
    client = Client()
    client.post("/sign-in/", {"email": KNOWN, "next": target})
    deliver()
    answer = client.post(CODE_PAGE, {"code": code_of(mail.outbox[-1]), "next": target})
    assert who(client) is not None
    assert "evil" not in answer.headers["Location"]
    answer = client.post("/language/", {"language": "fr", "next": target}, headers={"Referer": "https://evil.example/"})
    assert (answer.status_code, answer.headers["Location"]) == (302, "/")
    answer = client.post("/sign-out/", {"next": target})
    assert "evil" not in answer.headers.get("Location", "")
    assert who(client) is None


def test_where_one_wanted_to_go_is_kept_through_signing_in(cast: Cast) -> None:
    client = Client()
    wanted = f"/b/{cast.building.uid}/drop-off/"
    answer = client.get(wanted)
    assert answer.headers["Location"] == f"/sign-in/?next={wanted}"
    client.post(answer.headers["Location"], {"email": KNOWN, "next": wanted})
    deliver()
    assert client.post(CODE_PAGE, {"code": code_of(mail.outbox[0]), "next": wanted}).headers["Location"] == wanted


def test_signing_in_makes_a_new_session_and_signing_out_ends_it(cast: Cast) -> None:
    client, _ = ask(KNOWN)
    before = client.session.session_key
    deliver()
    client.post(CODE_PAGE, {"code": code_of(mail.outbox[0])})
    signed_in = client.cookies["session"].value
    assert signed_in not in ("", before), "a session planted beforehand is not the one signed in"
    assert (client.cookies["session"]["httponly"], client.cookies["session"]["samesite"]) == (True, "Lax")
    client.get("/sign-out/")
    assert who(client) is not None, "a link signs nobody out"
    client.post("/sign-out/")
    thief = Client()
    thief.cookies["session"] = signed_in
    assert thief.get(f"/b/{cast.building.uid}/").status_code == 302


def test_an_account_that_was_shut_gets_in_nowhere(cast: Cast) -> None:
    Account.objects.filter(email=KNOWN).update(is_active=False)
    client, _ = ask(KNOWN)
    deliver()
    if codes := re.findall(r"^\s*([A-Z0-9]{3,}-?[A-Z0-9]{3,})\s*$", mail.outbox[0].body, re.MULTILINE):
        client.post(CODE_PAGE, {"code": codes[0]})
    assert who(client) is None


def test_the_demo_page_exists_only_with_the_mark_and_opens_only_what_carries_it(cast: Cast) -> None:
    client = Client()
    for answer in (client.get("/demo/"), client.post("/demo/", {"email": KNOWN}), client.post("/demo/")):
        assert answer.status_code == 404
    newcomer(cast.building, "Demo", "", "checker")
    go_outside()
    demo = Account.objects.get(email="demo@quince-court.invalid")
    Account.objects.filter(pk=demo.pk).update(is_demo=True)
    assert client.get("/demo/").status_code == 200
    for email in (KNOWN, "", "x"):
        assert client.post("/demo/", {"email": email}).status_code == 404
        assert who(client) is None
    assert KNOWN not in client.get("/demo/").content.decode()
    assert client.post("/demo/", {"email": demo.email}).status_code == 302
    assert who(client) == str(demo.pk)
    assert client.get("/setup/").status_code == 404, "a demo account founds nothing"


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "evil.example:80", "a b", ""])
def test_another_host_name_is_refused_with_a_page(cast: Cast, host: str) -> None:
    for path, kind in (("/", "text/html"), (f"/api/buildings/{cast.building.uid}/drums/", "application/problem+json")):
        answer = Client(raise_request_exception=False).get(path, headers={"Host": host})
        assert answer.status_code == 400, (path, answer.status_code)
        assert answer.headers["Content-Type"].startswith(kind)
        assert "evil" not in answer.content.decode()


@pytest.mark.parametrize("kind", ["TRACE", "CONNECT", "PROPFIND", "X" * 300])
def test_an_odd_method_is_no_way_round(cast: Cast, kind: str) -> None:
    client = Client(raise_request_exception=False)
    client.force_login(account_of(cast.elsewhere_person), backend=BACKEND)
    for path in (f"/b/{cast.building.uid}/people/", f"/api/buildings/{cast.building.uid}/drop-offs/", "/sign-out/"):
        assert client.generic(kind, path).status_code in (403, 404, 405), path
    assert who(client) is not None


@pytest.mark.parametrize("spoil", [str.upper, lambda uid: uid.replace("-", ""), lambda uid: uid + "%00", lambda _: "1"])
def test_a_building_has_one_address_in_one_spelling(cast: Cast, spoil: Any) -> None:
    client = Client(raise_request_exception=False)
    client.force_login(account_of(cast.resident), backend=BACKEND)
    assert client.get(f"/b/{spoil(str(cast.building.uid))}/").status_code == 404


def test_every_page_carries_the_headers_that_keep_others_out(cast: Cast) -> None:
    answer = Client().get(f"/b/{cast.building.uid}/d/{cast.drum.uid}/")
    policy = answer.headers["Content-Security-Policy"]
    assert {"default-src 'none'", "frame-ancestors 'none'"} <= set(policy.split("; "))
    assert "unsafe" not in policy
    assert answer.headers["X-Frame-Options"] == "DENY"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"


def test_a_page_of_a_person_is_kept_by_no_cache(cast: Cast) -> None:
    client = Client()
    client.force_login(account_of(cast.resident), backend=BACKEND)
    answer = client.get(f"/b/{cast.building.uid}/")
    assert "Cookie" in answer.headers["Vary"]
