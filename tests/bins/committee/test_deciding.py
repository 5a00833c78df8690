"""Decisions of the committee: who decided, about what, on which day, and why."""

import datetime as dt
from typing import Any
from uuid import uuid5

import pytest
from django.db import DatabaseError, transaction

from bins.committee.deciding import Decided, record_decision, write_decision
from bins.models import Drum
from bins.records import Refused
from households.ledger import UidReused, open_ledger
from households.models import Building, CommitteeDecision, CommitteeDecisionAttribution, Site
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded

DAY = NOW.date()  # 4 May 2026


def told(building: Building, **raw: Any) -> Decided:
    usual = {"uid": uuid5(building.uid, "decision"), "about": "other", "words": "A second bin", "why": "One is full"}
    return Decided.from_raw(usual | raw)


def record(building: Building, by: Any, **raw: Any) -> CommitteeDecision:
    return record_decision(building=building, told=told(building, **raw), by=by, via="web", now=NOW).row


def test_a_decision_keeps_who_when_what_and_why(cast: Cast) -> None:
    people = [str(cast.committee.uid), str(cast.caretaker.uid)]
    with inside(cast.building.uid) as here:
        row = record(here, cast.committee, decided_on="2026-05-02", people=people)
        assert (row.about, row.words, row.why) == ("other", "A second bin", "One is full")
        assert (row.decided_on, row.happened_at) == (dt.date(2026, 5, 2), NOW)
        named = CommitteeDecisionAttribution.objects.within(here).filter(row=row)
        assert {one.person for one in named} == {cast.committee, cast.caretaker}


def test_who_writes_it_down_decided_where_nobody_is_named(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = record(here, cast.committee)
        named = CommitteeDecisionAttribution.objects.within(here).get(row=row)
        assert (named.person, row.decided_on) == (cast.committee, DAY)


def test_a_decision_arrives_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        first, again = record(here, cast.committee), record(here, cast.committee)
        assert first == again
        with pytest.raises(UidReused):
            record(here, cast.committee, why="Another reason")
        assert CommitteeDecision.objects.within(here).count() == 1


@pytest.mark.parametrize("who", ["resident", "checker"])
def test_nobody_else_writes_one_down(cast: Cast, who: str) -> None:
    with inside(cast.building.uid) as here:
        with pytest.raises(Refused) as refused:
            record(here, getattr(cast, who))
        assert set(refused.value.errors) == {"by"}
        assert not CommitteeDecision.objects.within(here).exists()


def test_only_people_of_the_committee_decided(cast: Cast) -> None:
    with inside(cast.building.uid) as here, pytest.raises(Refused) as refused:
        record(here, cast.committee, people=[str(cast.resident.uid)])
    assert set(refused.value.errors) == {"people"}


@pytest.mark.parametrize(
    ("day", "is_taken"), [("2026-05-04", True), ("2026-05-05", False), ("2016-04-26", True), ("2016-04-25", False)]
)
def test_the_day_is_today_or_before_and_at_most_ten_years_ago(cast: Cast, day: str, is_taken: bool) -> None:
    with inside(cast.building.uid) as here:
        if is_taken:
            assert record(here, cast.committee, decided_on=day).decided_on == dt.date.fromisoformat(day)
        else:
            with pytest.raises(Refused) as refused:
                record(here, cast.committee, decided_on=day)
            assert set(refused.value.errors) == {"decided_on"}


def test_every_fault_is_named_at_once() -> None:
    with pytest.raises(Refused) as refused:
        Decided.from_raw({"about": "war", "decided_on": "soon", "people": ["x"]})
    assert set(refused.value.errors) == {"uid", "about", "decided_on", "words", "why", "people"}


def test_a_site_of_another_building_is_none(cast: Cast) -> None:
    with inside(cast.elsewhere.uid) as there:
        site = Drum.objects.within(there).select_related("site").get(pk=cast.elsewhere_drum.pk).site
    with inside(cast.building.uid) as here, pytest.raises(Site.DoesNotExist):
        record(here, cast.committee, site=site.uid)


def test_a_service_writes_what_changed_in_its_own_transaction(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        with open_ledger(here) as ledger:
            row = write_decision(
                ledger, about="reserve", by=cast.committee, via="web", now=NOW, uid=uuid5(here.uid, "d"),
                figures={"reserve_percent": 30}, why="The beds are dry",
            )  # fmt: skip
        assert (row.figures, row.words) == ({"reserve_percent": 30}, "")


def test_a_decision_is_only_added_to(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = record(here, cast.committee)
        for change in (
            lambda: CommitteeDecision.objects.within(here).update(why="no"),
            lambda: CommitteeDecision.objects.within(here).filter(pk=row.pk)._raw_delete(row._state.db),
        ):
            with pytest.raises(DatabaseError), transaction.atomic():
                change()
