"""Founding a block: what each chamber held before, who is in charge, and what the first pail needs."""

import datetime as dt
from dataclasses import replace
from typing import Any
from uuid import uuid4

import pytest

from bins.decisions.gather import gather_drums
from bins.founding.block import QUESTIONS, Block, Chamber, Contents, InCharge, Measures, Yard
from bins.founding.founding import Founded, found_block
from bins.hatch import drum_states
from bins.models import Assignment, Batch, Pail, Place, Reading, StageChange
from bins.process.stage import Stage
from bins.records import Refused
from households.models import Job, Notice, Person, Role
from households.tenancy import inside
from tests.cast import NOW, block

pytestmark = [pytest.mark.embedded, pytest.mark.django_db]


def founded(*chambers: Chamber, **more: Any) -> Founded:
    told = replace(block("Quince Court", "Ottilie", household="Flat 1"), chambers=chambers, **more)
    return found_block(block=told, email="ottilie@quince-court.invalid", now=NOW)


def test_an_empty_drum_opens_hatch_a_and_the_batch_is_everybodys() -> None:
    found = founded()
    with inside(found.building.uid) as here:
        batch = Batch.objects.within(here).get()
        assert (batch.stage, batch.place.letter, batch.opened_at, batch.from_record) == ("filling", "A", NOW, False)
        assert Job.objects.filter(building=here, name="night", key="2026-05-05").exists()


def test_what_stood_there_before_is_in_no_ones_share_and_its_days_count_from_the_day_told() -> None:
    since = dt.date(2026, 1, 10)  # over 60 days back: nobody can have told it earlier
    found = founded(
        Chamber(1, "A", "closed", since, "half"), Chamber(1, "B", "filling", dt.date(2026, 4, 20), "quarter")
    )
    with inside(found.building.uid) as here:
        old, open_one = Batch.objects.within(here).order_by("opened_at")
        assert (old.stage, old.place.letter, old.from_record) == ("composting", "A", True)
        assert (open_one.stage, open_one.place.letter, open_one.from_record) == ("filling", "B", True)
        noon = dt.datetime(2026, 1, 10, 11, 0, tzinfo=dt.UTC)  # twelve in Berlin
        assert (old.opened_at, old.closed_at) == (noon, noon)
        ((_site, (drum,)),) = gather_drums(here, NOW)
        seen = {one.uid: one for one in drum.batches}
        assert (seen[old.uid].stage, seen[old.uid].composting_since) == (Stage.COMPOSTING, noon)
        assert [level.percent for level in seen[old.uid].levels] == [50]
        assert [level.percent for level in seen[open_one.uid].levels] == [25]
        assert {row.cause for row in StageChange.objects.within(here)} == {"found"}
        assert Reading.objects.within(here).count() == 2


def test_what_nobody_knows_counts_from_today_as_closed() -> None:
    found = founded(Chamber(1, "A", "unknown"))
    with inside(found.building.uid) as here:
        old = Batch.objects.within(here).get(place__letter="A")
        assert (old.stage, old.closed_at, old.from_record) == ("composting", NOW, True)
        (state,) = drum_states(here)
        assert state.open is not None
        assert state.open.place.letter == "B"


def test_a_day_told_with_this_afternoon_still_to_come_is_now() -> None:
    morning = dt.datetime(2026, 5, 4, 6, 0, tzinfo=dt.UTC)
    told = replace(block("Quince Court", "Ottilie"), chambers=(Chamber(1, "A", "closed", dt.date(2026, 5, 4)),))
    found = found_block(block=told, email="ottilie@quince-court.invalid", now=morning)
    with inside(found.building.uid) as here:
        assert Batch.objects.within(here).get(place__letter="A").closed_at == morning


def test_a_site_with_no_empty_half_has_nothing_open_and_its_residents_are_told_the_way_out() -> None:
    found = founded(Chamber(1, "A", "closed"), Chamber(1, "B", "unknown"))
    with inside(found.building.uid) as here:
        (state,) = drum_states(here)
        assert state.open is None
        notice = Notice.objects.get(building=here)
        assert "the brown bin by the gate" in notice.body
        assert Assignment.objects.within(here).count() == 1


def test_two_households_in_charge_use_drums_that_are_open() -> None:
    found = founded(
        Chamber(1, "A", "closed"), Chamber(1, "B", "closed"), drums=3, second_name="Yusra", second_household="Flat 7"
    )
    with inside(found.building.uid) as here:
        used = Assignment.objects.within(here).order_by("household__label").values_list("drum__number", flat=True)
        assert list(used) == [2, 3]


def test_both_people_in_charge_can_do_everything_with_or_without_an_address() -> None:
    found = founded(second_name="Yusra", second_email="yusra@quince-court.invalid")
    with inside(found.building.uid) as here:
        roles = {
            person.name: set(Role.objects.within(here).filter(person=person).values_list("kind", flat=True))
            for person in Person.objects.within(here)
        }
        assert roles == {"Ottilie": {"caretaker", "committee", "resident"}, "Yusra": {"caretaker", "committee"}}


def test_marks_pail_cup_and_second_language_are_as_told() -> None:
    found = founded(first_shape="square", pail_ml=5000, cup_ml=500, second_language="ar")
    with inside(found.building.uid) as here:
        shapes = dict(Place.objects.within(here).values_list("letter", "shape"))
        assert shapes == {"A": "square", "B": "circle"}
        pail = Pail.objects.within(here).get()
        assert (pail.millilitres, found.site.cup_ml, here.second_language) == (5000, 500, "ar")


RAW: dict[str, dict[str, str]] = {
    "block": {"name": "Quince Court", "time_zone": "Europe/Berlin"},
    "people": {"person": "Ottilie"},
    "drums": {"site": "Courtyard"},
    "contents": {},
    "pail": {},
    "full": {"fallback": "the brown bin by the gate"},
}


def test_six_answers_make_a_block_and_what_is_left_out_has_its_default() -> None:
    uid = uuid4()
    told = Block.from_answers(uid, RAW)
    assert told == Block(
        uid=uid, name="Quince Court", time_zone="Europe/Berlin", language="en", units="metric", site="Courtyard",
        air="outdoors", fallback="the brown bin by the gate", drums=1, chamber_litres=100, split="across",
        person="Ottilie", household="",
    )  # fmt: skip
    assert list(QUESTIONS) == list(RAW)


@pytest.mark.parametrize(
    ("raw", "litres"),
    [
        ({"chamber": "180"}, 180),
        ({"chamber": "180", "water_pails": "12,5"}, 125),  # ten litres a pail, where nobody said
        ({"water_pails": "12.5", "water_pail": "8"}, 100),
        ({"chamber": "50", "units": "us"}, 189),  # 3.785411784 L each
        ({"water_pails": "20", "water_pail": "2", "units": "us"}, 151),
        ({"chamber": "10"}, 10),
        ({"chamber": "5000"}, 5000),
    ],
)
def test_a_half_is_measured_by_its_paper_or_by_pails_of_water(raw: dict[str, str], litres: int) -> None:
    assert Yard.from_raw({"site": "Courtyard"} | raw).chamber_litres == litres


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"chamber": "9"}, "chamber"),
        ({"chamber": "5001"}, "chamber"),
        ({"water_pails": "0.5"}, "water_pails"),
        ({"drums": "13"}, "drums"),
        ({"site": " "}, "site"),
    ],
)
def test_a_yard_that_cannot_be_right_is_refused_by_field(raw: dict[str, str], field: str) -> None:
    with pytest.raises(Refused) as refused:
        Yard.from_raw({"site": "Courtyard"} | raw)
    assert set(refused.value.errors) == {field}


def test_one_open_hatch_a_drum_and_no_day_to_come() -> None:
    with pytest.raises(Refused) as refused:
        Contents.from_raw({"found-1-A": "filling", "found-1-B": "filling"})
    assert set(refused.value.errors) == {"found-1-B"}
    told = Contents.from_raw({"found-1-A": "closed", "since-1-A": "2026-05-05"})
    told.refuse_the_future(dt.date(2026, 5, 5))
    with pytest.raises(Refused) as refused:
        told.refuse_the_future(dt.date(2026, 5, 4))
    assert set(refused.value.errors) == {"since-1-A"}


def test_a_second_person_without_a_name_is_asked_for_and_a_small_pail_too() -> None:
    with pytest.raises(Refused) as refused:
        InCharge.from_raw({"person": "Ottilie", "second_email": "yusra"})
    assert set(refused.value.errors) == {"second_email", "second_name"}
    with pytest.raises(Refused):
        Measures.from_raw({"pail": "0.4"})
    assert Measures.from_raw({"pail": "2", "units": "us"}).pail_ml == 7571
