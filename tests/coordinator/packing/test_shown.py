"""The package for whoever is in charge names nobody, adds up, and is gone after a week."""

import csv
import datetime as dt
import io
import json
import re
import zipfile
from uuid import UUID, uuid4

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bins.models import Contribution
from bins.months.figures import month
from coordinator import walls
from coordinator.jobs.run import run_due
from coordinator.packing import shown
from coordinator.packing.whole import resource_name
from households.kept_files import KEPT, ask_for_export, forget_old
from households.models import Attribution, Household, Job, KeptFile, Person
from households.tenancy import inside
from tests.cast import NOW, Cast, account_of
from tests.filled import fill, go_outside, live

pytestmark = pytest.mark.embedded
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


def parts(content: bytes) -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name).decode() for name in archive.namelist()}


def test_no_name_no_address_and_no_row_that_says_who_stands_in_it(cast: Cast) -> None:
    fill(cast)
    with inside(cast.building.uid) as here:
        found = parts(shown.export(here))
        people, homes = Person.objects.within(here), Household.objects.within(here)
        telling = [str(row.uid) for rows in (people, homes, Contribution.objects.within(here)) for row in rows]
        telling += [*people.values_list("name", flat=True), *homes.values_list("label", flat=True)]
    whole = "\n".join(found.values())
    # A household knows the uids of its own drop-offs: these stand in it no more than a name.
    assert [one for one in telling if one in whole] == []
    assert "@" not in whole
    assert not re.search(r"\d\d:\d\d:\d\d", whole), "a time of day"
    hidden = {resource_name(model) for model in walls.tenant_models() if issubclass(model, Attribution)}
    assert not hidden & {name.removeprefix("data/").removesuffix(".csv") for name in found}


def test_the_rows_by_day_make_the_months_figures_and_keep_the_same_silence(cast: Cast) -> None:
    live(cast)
    with inside(cast.building.uid) as here:
        found, figures = parts(shown.export(here)), month(here, dt.date(2026, 5, 1))
    rows = list(csv.DictReader(io.StringIO(found["data/rows-scraps.csv"])))
    assert sum(int(row["amount"]) for row in rows) == figures.scraps_g
    assert {row["known"] for row in rows} == {"withheld"}  # one household stands behind them
    (told,) = csv.DictReader(io.StringIO(found["data/months.csv"]))
    assert {name: int(value) for name, value in told.items() if name != "month"} == figures.as_stored()
    assert json.loads(found["datapackage.json"])["leftOut"]


def test_the_same_history_makes_the_same_bytes(cast: Cast) -> None:
    live(cast)
    with inside(cast.building.uid) as here:
        assert shown.export(here) == shown.export(here)


def test_asked_for_once_made_once_kept_a_week_and_no_longer(cast: Cast) -> None:
    uid = uuid4()
    with inside(cast.building.uid) as here:
        for _ in range(2):
            ask_for_export(building=here, uid=uid, person=cast.committee, now=NOW)
    go_outside()
    run_due(NOW, limit=500)
    with inside(cast.building.uid) as here:
        assert Job.objects.get(building=here, name="export").state == Job.State.DONE
        (kept,) = KeptFile.objects.within(here)
        assert (kept.uid, bytes(kept.content)) == (uid, shown.export(here))
        assert forget_old(here, NOW + KEPT - dt.timedelta(seconds=1)) == 0
    go_outside()
    run_due(NOW + KEPT + dt.timedelta(days=1), limit=500)  # the tidying of that night
    with inside(cast.building.uid) as here:
        assert not KeptFile.objects.within(here).exists()
    go_outside()


def test_of_many_that_were_asked_for_the_newest_are_kept(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coordinator.jobs.export.MOST_KEPT", 2)
    uids = [uuid4() for _ in range(3)]
    for minutes, uid in enumerate(uids):
        at = NOW + dt.timedelta(minutes=minutes)
        with inside(cast.building.uid) as here:
            ask_for_export(building=here, uid=uid, person=cast.committee, now=at)
        go_outside()
        run_due(at, limit=500)
    with inside(cast.building.uid) as here:
        assert set(KeptFile.objects.within(here).values_list("uid", flat=True)) == set(uids[1:])
    go_outside()


def test_whoever_is_in_charge_asks_on_a_page_and_fetches_the_file(cast: Cast) -> None:
    client = Client()
    client.force_login(account_of(cast.committee), BACKEND)
    address = reverse("exports", args=[cast.building.uid])
    with time_machine.travel(NOW, tick=False):
        uid = UUID(client.get(address).context["uid"].hex)
        assert client.post(address, {"uid": str(uid)}).status_code == 302
        assert "being made" in client.get(address).content.decode()
        go_outside()
        run_due(NOW, limit=500)
        fetched = client.get(reverse("export-file", args=[cast.building.uid, uid]))
    go_outside()
    assert fetched["Content-Type"] == "application/zip"
    assert not fetched.streaming
    assert "datapackage.json" in parts(fetched.content)
