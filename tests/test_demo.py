"""The invented block: what stands in it, that it loads anywhere, and that its last days come out the same again."""

import datetime as dt
from collections import Counter
from io import StringIO
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from django.db import transaction
from django.test import Client

from bins.decisions.night import NAME as NIGHT
from bins.harvests.balance import balances
from bins.models import (
    Batch,
    Case,
    Contribution,
    Decision,
    Drum,
    Harvest,
    MonthClosing,
    Movement,
    Outgoing,
    PailWeighing,
    Share,
    Split,
    StageChange,
    WrongItem,
)
from bins.months import close
from bins.months.figures import month
from coordinator.demo import frozen, replay
from coordinator.demo.block import LAST_DAY, LAST_DAYS, UID, number_of
from coordinator.digest import rows_of
from coordinator.jobs.run import run_due
from households.models import Account, Building, Departure, Household, Job, Person
from households.tenancy import inside
from tests.cast import Cast
from tests.kept import Kept

pytestmark = [pytest.mark.embedded, pytest.mark.django_db]

TODAY = dt.datetime(2027, 1, 13, 9, 30, tzinfo=dt.UTC)  # a Wednesday, 134 days after the last day's morrow


def load_the_demo() -> None:
    with time_machine.travel(TODAY, tick=False):
        call_command("demo", stdout=StringIO())


@pytest.fixture(scope="module")
def kept_block(django_db_setup: None, django_db_blocker: Any) -> Kept[None]:
    with django_db_blocker.unblock():
        return Kept(load_the_demo)


@pytest.fixture
def block(kept_block: Kept[None], db: None) -> None:
    kept_block.put_back()


def stages(here: Building) -> Counter[str]:
    return Counter(Batch.objects.within(here).values_list("stage", flat=True))


def test_the_block_has_a_lot_in_each_stage_and_one_that_was_thrown_out(block: None) -> None:
    with inside(UID) as here:
        assert Drum.objects.within(here).count() == 3
        assert stages(here) == {"filling": 3, "composting": 1, "curing": 1, "ready": 1, "harvested": 12, "discarded": 1}
        thrown_out = Movement.objects.within(here).get(kind=Movement.Kind.DISCARDED)
        assert (thrown_out.reason, thrown_out.millilitres) == ("It stayed wet and smelled for two weeks.", 300_000)


def test_the_rules_made_its_decisions_and_one_person_once_went_against_them(block: None) -> None:
    with inside(UID) as here:
        made = Counter(Decision.objects.within(here).values_list("reason", flat=True))
        wanted = {"level_at_mark", "past_longest_fill", "clash_foreseen", "no_empty_place", "cooled_down"}
        assert set(made) == wanted | {"days_composted", "cured_and_tested", "fresh_noted", "too_wet"}
        override = StageChange.objects.within(here).get(cause=StageChange.Cause.OVERRIDE)
        assert override.reason.startswith("Dark and crumbly")
        assert override.attribution.person.name == "Wanda"
        assert Decision.objects.within(here).exclude(batch__drum__site__air="indoors").count() == 0


def test_14_of_28_households_take_part_and_one_has_moved_out(block: None) -> None:
    with inside(UID) as here:
        assert Household.objects.within(here).living_on(dt.date(2027, 1, 12)).count() == 28
        since = here.instant(dt.date(2026, 12, 15))
        rows = Contribution.objects.within(here).filter(counts_at__gte=since, attribution__household__isnull=False)
        assert rows.values("attribution__household").distinct().count() == 14
        departure = Departure.objects.within(here).get()
        assert departure.forgotten_at is not None
        assert (departure.household.label, departure.household.people.count()) == ("", 0)


def test_each_harvest_is_shared_out_and_every_tub_is_accounted_for(block: None) -> None:
    with inside(UID) as here:
        harvests = list(Harvest.objects.within(here))
        assert len(harvests) == Split.objects.within(here).count() == 12
        kinds = Counter(Outgoing.objects.within(here).values_list("kind", flat=True))
        assert {kind for kind in kinds if kinds[kind]} == {"given", "reserve", "unclaimed", "lost"}
        assert Outgoing.objects.within(here).get(kind="lost").loss == "spilt"
        assert Share.objects.within(here).filter(tubs__gt=0).count() > kinds["given"], "not everybody came"
        over = Split.objects.within(here).filter(pick_up_until__lt=dt.date(2027, 1, 12)).values("harvest")
        standing = balances(here, list(Harvest.objects.within(here).filter(pk__in=over)))
        assert {one.waiting for one in standing.values()} == {0}


def test_a_neighbour_was_answered_and_another_waits(block: None) -> None:
    with inside(UID) as here:
        smell, flies = Case.objects.within(here).order_by("received_at")
        assert [note.what for note in smell.notes.order_by("ledger_number")] == ["looked", "done", "closed"]
        assert (smell.closed_at is None, smell.first_action_at < smell.answer_by) == (False, True)
        assert (flies.first_action_at, flies.answer_by > TODAY) == (None, True)


def test_wrong_items_a_wrong_hatch_and_thrice_ten_weighed_pails_are_in_the_books(block: None) -> None:
    with inside(UID) as here:
        assert Counter(WrongItem.objects.within(here).values_list("item", flat=True)) == {"stickers": 3, "plastic": 1}
        assert Contribution.objects.within(here).filter(place__isnull=False).count() == 1
        assert PailWeighing.objects.within(here).count() == 30
        assert {*Contribution.objects.within(here).values_list("known", flat=True)} == {"weighed", "counted", "guessed"}


def test_every_month_that_is_over_is_closed_and_the_last_was_corrected_since(block: None) -> None:
    with inside(UID) as here:
        days = list(MonthClosing.objects.within(here).order_by("first_day").values_list("first_day", flat=True))
        assert (days[0], days[-1], len(days)) == (dt.date(2025, 7, 1), dt.date(2026, 12, 1), 18)
        last = MonthClosing.objects.within(here).get(first_day=days[-1])
        assert last.closed_by is not None
        assert last.closed_by.name == "Yusra"
        changed = {one.name: one.closed - one.now for one in close.restated(last, month(here, days[-1]))}
        assert changed["drop_offs"] == 1
        assert changed["scraps_g"] > 0
        before = MonthClosing.objects.within(here).get(first_day=days[-2])
        assert close.restated(before, month(here, days[-2])) == ()


def test_the_next_night_and_the_next_closing_are_promised_and_run(block: None) -> None:
    with inside(UID) as here:
        due = Job.objects.filter(building=here, state="due")
        assert set(due.filter(name__in=[NIGHT, "close-month"]).values_list("name", "key")) == {
            (NIGHT, "2027-01-13"),
            ("close-month", "2027-01-01"),
        }
    run_due(TODAY)
    with inside(UID) as here:
        done = Job.objects.filter(building=here, name=NIGHT, state="done")
        assert list(done.values_list("key", flat=True)) == ["2027-01-13"]


def test_the_four_guises_can_look_round(block: None) -> None:
    assert set(Account.objects.filter(is_demo=True).values_list("email", flat=True)) == {
        "wanda@demo.invalid",
        "imani@demo.invalid",
        "tomasz@demo.invalid",
        "yusra@demo.invalid",
    }
    client = Client()
    assert client.post("/demo/", {"email": "wanda@demo.invalid"}).status_code == 302
    with time_machine.travel(TODAY, tick=False):
        for page in ("", "today/", "month/2026/12/"):
            assert client.get(f"/b/{UID}/{page}").status_code == 200, page


def test_a_load_on_its_own_dates_has_the_digest_that_it_was_frozen_with() -> None:
    frozen.load()
    with inside(UID) as here:
        assert frozen.digest_of(here) == frozen.digest_at_end(), "a model has changed: manage.py demo --replay"


@pytest.mark.long
def test_the_last_30_days_lived_again_come_out_the_same() -> None:
    frozen.load(until_end=False)
    with inside(UID) as here:
        assert frozen.digest_of(here) != frozen.digest_at_end()
    replay.live(number_of(LAST_DAY) - LAST_DAYS + 1)
    with inside(UID) as here:
        assert frozen.digest_of(here) == frozen.digest_at_end(), "a rule has changed: manage.py demo --replay"


def test_one_word_changed_is_another_history() -> None:
    frozen.load()
    with inside(UID) as here:
        Person.objects.within(here).filter(name="Imani").update(language="fr")
        assert frozen.digest_of(here) != frozen.digest_at_end()


def test_two_loads_on_one_day_are_alike_to_the_row() -> None:
    lines = []
    for hour in (0, 13):
        with transaction.atomic(), time_machine.travel(TODAY + dt.timedelta(hours=hour), tick=False):
            call_command("demo", stdout=StringIO())
            with inside(UID) as here:
                lines.append(list(rows_of(here)))
            transaction.set_rollback(True)
    assert lines[0] == lines[1]


def test_where_there_are_people_nothing_is_added(cast: Cast) -> None:
    for arguments in ([], ["--replay"]):
        said = StringIO()
        call_command("demo", *arguments, stdout=said)
        assert said.getvalue() == "The database has people already; the invented block was not added.\n"
    assert not Building.objects.filter(uid=UID).exists()
    assert not Account.objects.filter(is_demo=True).exists()
