"""An organisation's buildings: who sees them, in which order, a page at a time, and what of each."""

import datetime as dt
import io
import re
from uuid import UUID, uuid4, uuid5

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bins.care.pulse import signs_of
from bins.models import Case, Contribution
from coordinator.jobs.run import run_due
from households.models import Account, Audit, Building, Organisation, OrganisationRole
from households.organisations import appoint, take_on
from households.tenancy import found, inside
from tests.bins.harvests.harvested import bring
from tests.cast import NOW, Cast, account_of
from tests.coordinator.test_harvest_pages import as_, at, plain
from tests.filled import go_outside, live

pytestmark = [pytest.mark.embedded, pytest.mark.django_db]
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
LATER = NOW + dt.timedelta(days=2, hours=1)


@pytest.fixture
def office(cast: Cast) -> Organisation:
    organisation = Organisation.objects.create(name="Homes for All")
    for uid in (cast.building.uid, cast.elsewhere.uid):
        with inside(uid) as here:
            take_on(here, organisation, NOW)
        go_outside()
    return organisation


@pytest.fixture
def officer(office: Organisation) -> Account:
    account = Account.objects.create_user("petra@homes.invalid")
    appoint(office, account, NOW.date())
    return account


def client_of(account: Account) -> Client:
    client = Client()
    client.force_login(account, backend=BACKEND)
    return client


def page_of(office: Organisation, account: Account, **query: str) -> str:
    answer = client_of(account).get(reverse("organisation", args=[office.uid]), query)
    go_outside()
    assert answer.status_code == 200
    return answer.content.decode()


def many(office: Organisation, number: int) -> None:
    """More buildings, as their nights would have left them."""
    for n in range(number):
        pulse = {
            "needs": ["no_visit"] if n % 3 == 0 else [],
            "scraps_g": 1000 * n,
            "days_since_drop_off": n % 30,
            "days_since_visit": None,
            "drop_offs": n,
            "living_here": 12,
        }
        found(
            Building(
                uid=uuid5(UUID(int=9), str(n)),
                name=f"House {n:03}",
                time_zone="Europe/Berlin",
                created_at=NOW,
                organisation=office,
                need=4 if n % 3 == 0 else 0,
                is_alive=n % 30 < 21,
                pulse=pulse,
                pulse_at=NOW,
            )
        )
        go_outside()


@time_machine.travel(LATER, tick=False)
def test_the_night_says_how_a_building_stands_and_the_page_says_it_on(
    cast: Cast, office: Organisation, officer: Account
) -> None:
    assert "2 buildings have had no night" in page_of(office, officer)
    with inside(cast.building.uid) as here:
        bring(here, cast.drum, cast.resident, 1)
    go_outside()
    run_due(LATER)
    with inside(cast.building.uid) as here:
        assert (here.is_alive, here.need, here.pulse["needs"], here.pulse["scraps_g"]) == (True, 0, [], 1000)
        assert here.pulse_at == dt.datetime(2026, 5, 6, 1, 0, tzinfo=dt.UTC)  # three in the morning in Berlin
    go_outside()
    seen = page_of(office, officer)
    assert "0 of 2 buildings need a visit." in plain_text(seen)
    assert "1 is alive" in plain_text(seen)
    assert "Quince Court" in seen
    assert "1.0 kg" in seen


def plain_text(page: str) -> str:
    return " ".join(page.split())


def test_a_report_that_waits_past_its_promise_asks_for_a_visit(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        Case.objects.create(
            building=here,
            uid=uuid4(),
            reference="ABCDEF",
            kind="smell",
            received_at=NOW,
            answer_by=NOW + dt.timedelta(hours=24),
        )
        for hours, late in ((24, 0), (25, 1)):
            assert signs_of(here, NOW + dt.timedelta(hours=hours)).late_reports == late
        assert signs_of(here, NOW).days_since_drop_off is None
        assert Contribution.objects.within(here).count() == 0


@time_machine.travel(NOW, tick=False)
def test_whoever_does_not_act_for_it_finds_nothing(cast: Cast, office: Organisation, officer: Account) -> None:
    address = reverse("organisation", args=[office.uid])
    other = Organisation.objects.create(name="Another")
    assert as_(cast.caretaker).get(address).status_code == 404
    assert client_of(officer).get(reverse("organisation", args=[other.uid])).status_code == 404
    assert Client().get(address).status_code == 302
    assert client_of(officer).post(address).status_code == 405
    one = at(cast, "organisation-building")
    assert as_(cast.caretaker).get(one).status_code == 404
    assert client_of(officer).get(one).status_code == 200
    for forbidden in ("month-now", "people", "today", "building", "money-now", "month"):
        args = (2026, 5) if forbidden == "month" else ()
        assert client_of(officer).get(at(cast, forbidden, *args)).status_code == 404, forbidden
    OrganisationRole.objects.update(ends_on=NOW.date())
    assert client_of(officer).get(one).status_code == 200  # the last day counts
    with time_machine.travel(NOW + dt.timedelta(days=1), tick=False):
        assert client_of(officer).get(one).status_code == 404
        assert client_of(officer).get(address).status_code == 404
    go_outside()


@time_machine.travel(NOW, tick=False)
def test_of_one_building_it_sees_totals_and_who_is_in_charge_and_no_household(
    cast: Cast, office: Organisation, officer: Account
) -> None:
    live(cast)
    seen = plain(client_of(officer).get(at(cast, "organisation-building")))
    go_outside()
    assert "3.6 kg" in seen
    assert re.search(r"Ottilie *super", seen, re.I), seen
    assert re.search(r"Yusra *committee", seen, re.I)
    for name in ("Imani", "Sorin", "Flat 3", "Flat 5"):
        assert name not in seen


@time_machine.travel(NOW, tick=False)
def test_hundreds_of_buildings_come_a_page_at_a_time_those_with_a_need_first(
    cast: Cast, office: Organisation, officer: Account
) -> None:
    many(office, 120)
    pages, query = [], {}
    for _ in range(4):
        seen = page_of(office, officer, **query)
        pages.append(
            [part.split("</bdi>")[0] for part in seen.split('<bdi translate="no">')[1:] if "</bdi></a></th>" in part]
        )
        following = re.search(r'rel="next" href="[^"]*after=([0-9a-f-]{36})', seen)
        if following is None:
            break
        query = {"after": following[1]}
    names = [name for page in pages for name in page]
    assert [len(page) for page in pages] == [50, 50, 22]
    assert len(set(names)) == 122
    assert names[:40] == [f"House {n:03}" for n in range(0, 120, 3)]
    assert names[40:] == sorted(names[40:])
    only = page_of(office, officer, show="need")
    assert only.count("Nobody has looked after the drums") == 40
    assert "40 of 122 buildings need a visit." in plain_text(only)
    with time_machine.travel(NOW, tick=False):
        for wrong in ("x", str(uuid4())):
            answer = client_of(officer).get(reverse("organisation", args=[office.uid]), {"after": wrong})
            assert answer.status_code == 404
    go_outside()


@time_machine.travel(NOW, tick=False)
def test_the_queries_do_not_grow_with_the_buildings(cast: Cast, office: Organisation, officer: Account) -> None:
    counts = []
    client, address = client_of(officer), reverse("organisation", args=[office.uid])
    for more in (0, 60):
        many(office, more)
        client.get(address)
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        counts.append(len(queries))
    go_outside()
    assert counts[0] == counts[1]


@time_machine.travel(NOW, tick=False)
def test_an_officer_lands_on_the_organisations_page(cast: Cast, office: Organisation, officer: Account) -> None:
    assert client_of(officer).get(reverse("home")).headers["Location"] == reverse("organisation", args=[office.uid])
    appoint(office, account_of(cast.caretaker), NOW.date())
    seen = as_(cast.caretaker).get(reverse("home"))
    go_outside()
    assert "Homes for All" in seen.content.decode()
    assert "Quince Court" in seen.content.decode()


@time_machine.travel(NOW, tick=False)
def test_whoever_runs_the_service_founds_appoints_takes_on_and_lets_go(cast: Cast) -> None:
    def run(*args: object) -> str:
        out = io.StringIO()
        call_command("organisation", *map(str, args), stdout=out)
        go_outside()
        return out.getvalue()

    uid = run("found", "Homes for All").split(": ")[1].strip()
    account = account_of(cast.neighbour)
    run("appoint", uid, account.email)
    run("take", uid, cast.building.uid)
    assert OrganisationRole.objects.get(account=account).organisation.uid == UUID(uid)
    with inside(cast.building.uid) as here:
        assert here.organisation is not None
        assert Audit.objects.filter(building=here, act="organisation-joined").exists()
    go_outside()
    assert "on its own" in run("leave", cast.building.uid)
