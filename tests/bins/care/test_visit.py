"""A care visit with what was read of each lot, home tests of maturity, and what the rules then see of them."""

from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from bins.care.maturity_tests import BeginTest, ReadTest, begin_test, read_test, readable_from
from bins.care.visit import CareVisit
from bins.decisions.gather import gather_drums
from bins.intake.dropoff import undo_drop_off
from bins.models import Batch, Drum, MaturityResult, Place, Reading
from bins.process.maturity import BagTest, FlaskTest, SeedTest
from bins.process.reading import FreshScraps, Squeeze
from bins.process.snapshot import BatchSnapshot
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, by, close, hatch, pail, put_in, visit
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def read(batch: Batch, **raw: object) -> dict[str, object]:
    return {"batch": str(batch.uid)} | raw


def seen(here: Building, batch: Batch, now: Any) -> BatchSnapshot:
    ((_, drums),) = gather_drums(here, now)
    return next(one for drum in drums for one in drum.batches if one.uid == batch.uid)


def test_one_visit_carries_readings_for_both_lots_of_a_drum(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older = batch_in(here, cast, "A")
        close(cast, here, older)
        younger = batch_in(here, cast, "B")
        visit(
            cast, here, NOW + DAY, level="half", air="18,5", readings=[
                read(older, temperature="22.4", squeeze="right", smell="no"),
                read(younger, temperature=-3, smell="yes"),
            ],
        )  # fmt: skip
        a, b = seen(here, older, NOW + DAY), seen(here, younger, NOW + DAY)
        assert [(t.drum_c, t.air_c, t.turned) for t in a.temperatures] == [(Decimal("22.4"), Decimal("18.5"), True)]
        assert [(t.drum_c, t.air_c) for t in b.temperatures] == [(Decimal(-3), Decimal("18.5"))]
        assert ([s.felt for s in a.squeezes], [s.bad for s in a.smells]) == ([Squeeze.RIGHT], [False])
        assert ([level.percent for level in b.levels], [s.bad for s in b.smells]) == ([50], [True])


@pytest.mark.parametrize(("told", "tenths"), [("71.6", 220), ("32", 0), ("-4", -200), ("212", 1000)])
def test_a_thermometer_in_fahrenheit_is_kept_in_tenths_of_celsius(told: str, tenths: int) -> None:
    # 71.6 °F = 22 °C, the "outside 18 / drum 22" of the AgriFutures curing guide as an American thermometer shows it.
    found = CareVisit.from_raw(
        {
            "uid": uuid4(),
            "drum": uuid4(),
            "temperature_unit": "f",
            "readings": [{"batch": uuid4(), "temperature": told}],
        }
    )
    assert found.readings[0].drum_tenths_c == tenths


def test_every_fault_of_a_reading_is_named_with_its_lot() -> None:
    one = str(uuid4())
    with pytest.raises(Refused) as refused:
        CareVisit.from_raw({
            "uid": uuid4(), "drum": uuid4(), "air": "mild",
            "readings": [{"batch": one, "temperature": "100.1", "squeeze": "soft", "smell": "roses"}],
        })  # fmt: skip
    assert set(refused.value.errors) == {"air", f"temperature-{one}", f"squeeze-{one}", f"smell-{one}"}
    with pytest.raises(Refused) as refused:
        CareVisit.from_raw({"uid": uuid4(), "drum": uuid4(), "readings": [{"batch": one}, {"batch": one}]})
    assert set(refused.value.errors) == {"readings"}


def test_a_reading_of_a_lot_that_was_not_in_the_drum_is_refused_with_the_whole_visit(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        with pytest.raises(Refused):
            visit(cast, here, NOW + DAY, readings=[{"batch": str(uuid4()), "smell": "no"}])
        put_in(here, batch, "discarded", NOW + DAY)
        with pytest.raises(Refused):
            visit(cast, here, NOW + 2 * DAY, readings=[read(batch, smell="no")])
        assert not Reading.objects.within(here).exists()
        # Told late of a day when it was there, it is kept.
        visit(
            cast, here, NOW + 2 * DAY, happened_at=(NOW + timedelta(hours=1)).isoformat(),
            readings=[read(batch, smell="no")],
        )  # fmt: skip
        assert Reading.objects.within(here).get().batch == batch


def test_the_same_visit_with_another_reading_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch, uid = batch_in(here, cast, "A"), uuid4()
        visit(cast, here, uid=uid, readings=[read(batch, squeeze="dry")])
        visit(cast, here, uid=uid, readings=[read(batch, squeeze="dry")])
        with pytest.raises(UidReused):
            visit(cast, here, uid=uid, readings=[read(batch, squeeze="wet")])
        assert Reading.objects.within(here).count() == 1


@pytest.mark.parametrize(
    ("kind", "value"),
    [("level_percent", 101), ("drum_tenths_c", 1001), ("air_tenths_c", -601), ("squeeze", 3), ("smell_bad", 2)],
)
def test_the_database_refuses_a_value_out_of_range(cast: Cast, kind: str, value: int) -> None:
    with inside(cast.building.uid) as here:
        row = visit(cast, here)
        with transaction.atomic(), pytest.raises(IntegrityError):
            Reading.objects.create(
                building=here, ledger_number=9000, happened_at=NOW, heard_at=NOW, counts_at=NOW, via="web",
                fingerprint="0", visit=row, batch=batch_in(here, cast, "A"), kind=kind, value=value,
            )  # fmt: skip


# Home tests -----------------------------------------------------------------------------------------


def begun(cast: Cast, here: Building, kind: str, now: Any) -> Any:
    batch = batch_in(here, cast, "A")
    return begin_test(
        told=BeginTest.from_raw({"uid": uuid4(), "batch": batch.uid, "kind": kind}), **by(cast, here, now)
    )


def result(test: Any, **raw: object) -> ReadTest:
    return ReadTest.from_raw({"uid": uuid4(), "test": test.uid, "kind": test.kind} | raw)


def test_raw_results_are_kept_and_whether_it_passed_is_worked_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        put_in(here, put_in(here, batch, "composting", NOW), "curing", NOW + DAY)
        bag = begun(cast, here, "bag", NOW + 2 * DAY)
        assert readable_from(bag) == NOW + 9 * DAY
        read_test(told=result(bag, bad_smell="no"), **by(cast, here, NOW + 9 * DAY))
        seeds = begun(cast, here, "seeds", NOW + 2 * DAY)
        read_test(told=result(seeds, sown="4", sprouted="3"), **by(cast, here, NOW + 9 * DAY))
        flask = begun(cast, here, "flask", NOW + 2 * DAY)
        read_test(told=result(flask, highest="31", room="20,5"), **by(cast, here, NOW + 9 * DAY))
        tests = seen(here, batch, NOW + 9 * DAY).tests
        # UF/IFAS Sarasota: 3 of 4 radish seeds sprout: ready. The flask was 10.5 °C over the room: not passed.
        assert {type(test): test.passed for test in tests} == {BagTest: True, SeedTest: True, FlaskTest: False}
        assert seen(here, batch, NOW + 8 * DAY).tests == ()


def test_a_bag_opened_a_minute_early_has_not_passed(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = put_in(here, put_in(here, batch_in(here, cast, "A"), "composting", NOW), "curing", NOW)
        bag = begun(cast, here, "bag", NOW)
        read_test(told=result(bag, bad_smell="no"), **by(cast, here, NOW + 7 * DAY - timedelta(minutes=1)))
        assert [test.passed for test in seen(here, batch, NOW + 8 * DAY).tests] == [False]


def test_a_test_is_read_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bag = begun(cast, here, "bag", NOW)
        told = result(bag, bad_smell="yes")
        first = read_test(told=told, **by(cast, here, NOW + 7 * DAY))
        assert read_test(told=told, **by(cast, here, NOW + 8 * DAY)).pk == first.pk
        with pytest.raises(Refused):
            read_test(told=result(bag, bad_smell="no"), **by(cast, here, NOW + 8 * DAY))
        assert MaturityResult.objects.within(here).count() == 1


@pytest.mark.parametrize(
    ("kind", "raw", "faults"),
    [
        ("bag", {}, {"bad_smell"}),
        ("seeds", {"sown": "3", "sprouted": "1"}, {"sown"}),
        ("seeds", {"sown": "4", "sprouted": "5"}, {"sprouted"}),
        ("flask", {"highest": "30"}, {"room"}),
        ("jar", {}, {"kind"}),
    ],
)
def test_a_result_that_says_too_little_is_refused(kind: str, raw: dict[str, str], faults: set[str]) -> None:
    with pytest.raises(Refused) as refused:
        ReadTest.from_raw({"uid": uuid4(), "test": uuid4(), "kind": kind} | raw)
    assert set(refused.value.errors) == faults


def test_a_result_before_its_beginning_or_of_another_kind_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bag = begun(cast, here, "bag", NOW + DAY)
        with pytest.raises(Refused):
            read_test(told=result(bag, bad_smell="no", happened_at=NOW.isoformat()), **by(cast, here, NOW + 2 * DAY))
        with pytest.raises(Refused):
            read_test(told=result(bag, kind="seeds", sown="4", sprouted="4"), **by(cast, here, NOW + 2 * DAY))


# Gathering ------------------------------------------------------------------------------------------


def test_gathering_takes_the_same_queries_for_three_drums_and_their_rows_as_for_one(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        with CaptureQueriesContext(connection) as few:
            gather_drums(here, NOW)
        for number in (2, 3):
            drum = Drum.objects.create(building=here, site=cast.drum.site, number=number)
            for letter, shape in (("A", "circle"), ("B", "square")):
                Place.objects.create(
                    building=here, kind="chamber", site=drum.site, drum=drum, letter=letter, shape=shape, litres=100
                )
        for hour in range(4):
            visit(cast, here, NOW + timedelta(hours=hour), level="half", readings=[read(batch, temperature=30)])
        with CaptureQueriesContext(connection) as many:
            gather_drums(here, NOW + DAY)
        assert len(few) == len(many) == 15


def test_fresh_scraps_of_a_wrong_hatch_are_what_the_rules_see_and_one_taken_back_is_not(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older = batch_in(here, cast, "A")
        close(cast, here, older, NOW)
        row = pail(cast, here, NOW + DAY, place=hatch(here, cast, "A").uid)
        assert (row.batch, row.place) == (older, hatch(here, cast, "A"))
        assert seen(here, older, NOW + DAY).fresh_scraps == (FreshScraps(NOW + DAY, row.scraps_ml),)
        undo_drop_off(building=here, row=row, person=cast.resident, via="web", now=NOW + DAY)
        assert seen(here, older, NOW + 2 * DAY).fresh_scraps == ()


def test_naming_the_open_hatch_is_no_wrong_hatch_and_an_empty_one_has_no_lot(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        open_one = pail(cast, here, place=hatch(here, cast, "A").uid)
        empty = pail(cast, here, place=hatch(here, cast, "B").uid)
        assert (open_one.place, open_one.batch) == (None, batch_in(here, cast, "A"))
        assert (empty.place, empty.batch) == (hatch(here, cast, "B"), None)
        with pytest.raises(Refused):
            pail(cast, here, place=uuid4())


def test_a_late_slip_counts_for_the_lot_that_stood_in_that_hatch_then(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        older = batch_in(here, cast, "A")
        close(cast, here, older, NOW + 2 * DAY)
        row = pail(cast, here, NOW + 3 * DAY, place=hatch(here, cast, "A").uid, happened_at=(NOW + DAY).isoformat())
        assert (row.batch, row.place) == (older, None)  # it was the open one on that day
