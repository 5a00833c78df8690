"""A lot measured in parts, with a tub on a scale; the sieve's bits put back; and what came out per kilo."""

import datetime as dt
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.care.stages import go_to, open_batch
from bins.harvests.balance import Balance, balance, balances, came_out
from bins.harvests.measured import Measured, TubWeights
from bins.harvests.parts import record_part, take_part_back
from bins.models import Batch, Contribution, Harvest, HarvestPart, Overs
from bins.months.figures import month
from bins.months.rows import rows
from bins.process.density import BucketTest
from bins.records import Refused
from households.ledger import UidReused, open_ledger
from households.models import Building
from households.tenancy import inside
from tests.bins.harvests.harvested import DAY, OUT, TUB, bring, lose, lot, mature, resident, share_out, take_out
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def told(**raw: object) -> Measured:
    return Measured.from_raw({"uid": str(uuid4()), "whole_tubs": "4", "part": "0.3", "more": "yes"} | raw)


def measure(here: Building, batch: Batch, tubs: int, now: dt.datetime = OUT, **raw: object) -> HarvestPart:
    found = told(whole_tubs=tubs, part="0", **raw)
    return record_part(building=here, batch_uid=batch.uid, told=found, person=None, via="web", now=now).row


def take_back(here: Building, row: HarvestPart, now: dt.datetime = OUT) -> HarvestPart:
    return take_part_back(building=here, uid=row.uid, person=None, via="web", now=now)


def test_a_lot_comes_out_on_three_days_and_the_sum_is_one_harvest(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for name in "AB":
            bring(here, cast.drum, resident(here, name), grams=5000)
        batch = lot(here, cast.drum)
        mature(here, batch)
        measure(here, batch, 5, OUT - 8 * DAY)
        measure(here, batch, 3, OUT - DAY)
        batch.refresh_from_db()
        assert (batch.stage, batch.place is None) == ("ready", False)  # the rest is inside: nothing has come out yet
        assert month(here, dt.date(2026, 8, 1)).compost_ml == 0
        harvest = take_out(here, batch, 2, "0.5")
        assert came_out(here, [harvest])[harvest.pk].millionths == 10_500_000
        assert balance(here, harvest) == Balance(10_500_000)
        assert share_out(here, harvest).divided_millionths == 10_500_000
        # 105 L out of 30 kg: 3.5 L for each kilo of the same lot, in the month in which it was taken out.
        told_ = month(here, dt.date(2026, 8, 1))
        assert [(one.compost_ml, one.scraps_g, one.ml_per_kg) for one in told_.yields] == [(105_000, 30_000, 3500)]
        behind = rows(here, dt.date(2026, 8, 1), "compost")
        assert sorted(row.amount for row in behind) == [25_000, 30_000, 50_000]
        assert sum(row.amount for row in behind) == told_.compost_ml


def test_what_is_found_after_it_was_taken_out_comes_on_top_until_it_is_shared_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bring(here, cast.drum, resident(here, "A"))
        batch = lot(here, cast.drum)
        harvest = take_out(here, batch, 4)
        measure(here, batch, 2)
        assert balance(here, harvest).waiting == 6 * TUB
        share_out(here, harvest)
        with pytest.raises(Refused, match="shared out already"):
            measure(here, batch, 1)


def test_a_part_is_taken_back_by_a_row_once_and_the_sum_is_what_stands(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        wrong = measure(here, batch, 50)
        first, again = (take_back(here, wrong) for _ in range(2))
        assert (first.pk, first.whole_tubs, first.reverses) == (again.pk, -50, wrong)
        measure(here, batch, 5)
        harvest = take_out(here, batch, 1)
        assert balance(here, harvest).harvested == 6 * TUB
        assert sum(row.millionths for row in HarvestPart.objects.within(here)) == 5 * TUB
        with pytest.raises(HarvestPart.DoesNotExist):
            take_back(here, first)


def test_a_part_stays_while_more_is_gone_than_would_be_left_and_once_it_is_shared_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        part = measure(here, batch, 3)
        harvest = take_out(here, batch, 2)
        lost = lose(here, harvest, 2 * TUB + 1000)
        with pytest.raises(Refused, match="gone"):
            take_back(here, part)
        assert lost
        share_out(here, harvest)
        with pytest.raises(Refused, match="shared out"):
            take_back(here, part)


def test_nothing_left_of_a_harvest_is_a_thing_to_measure_again(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        part = measure(here, batch, 3)
        take_out(here, batch, 0, all_measured="yes")
        with pytest.raises(Refused, match="Nothing would be left"):
            take_back(here, part)


def test_all_of_it_may_stand_in_parts_and_without_any_something_must_be_counted(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        with pytest.raises(Refused, match="How many tubs"):
            take_out(here, batch, 0, all_measured="yes")
        measure(here, batch, 7, tub_litres="12")
        harvest = take_out(here, batch, 0, all_measured="yes")
        batch.refresh_from_db()
        assert (batch.stage, harvest.tub_ml, balance(here, harvest).harvested) == ("harvested", 12_000, 7 * TUB)


def test_the_same_part_twice_is_one_row_and_with_other_values_it_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch, uid = lot(here, cast.drum), str(uuid4())
        first, again = (measure(here, batch, 5, uid=uid) for _ in range(2))
        assert first.pk == again.pk
        with pytest.raises(UidReused):
            measure(here, batch, 6, uid=uid)


def test_parts_in_tubs_of_two_sizes_add_up_in_the_tub_of_the_harvest(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        measure(here, batch, 3, tub_litres="20")
        harvest = take_out(here, batch, 4, tub_litres="10")
        out = came_out(here, [harvest])[harvest.pk]
        assert (out.millionths, out.millilitres, out.parts) == (10 * TUB, 100_000, 1)


def test_what_was_measured_of_a_lot_goes_with_it_into_another(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        first = lot(here, cast.drum)
        measure(here, first, 3)
        go_through(here, first)
        place = cast.drum.places.get(letter="B")
        with open_ledger(here) as ledger:
            second = open_batch(ledger, place, uid=uuid4(), person=None, via="web", at=NOW + 20 * DAY)
        first.stage, first.merged_into, first.ended_at, first.place = "merged", second, OUT, None
        first.save()
        harvest = take_out(here, second, 2)
        assert balance(here, harvest).harvested == 5 * TUB
        with pytest.raises(Refused, match="left its hatch"):
            measure(here, first, 1)


def go_through(here: Building, batch: Batch) -> None:
    with open_ledger(here) as ledger:
        go_to(ledger, batch, "composting", person=None, via="web", at=NOW + DAY)


def test_the_rest_thrown_out_leaves_what_was_measured_before(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        measure(here, batch, 3)
        with open_ledger(here) as ledger:
            go_to(ledger, batch, "discarded", person=None, via="web", at=OUT, cause="discarded")
        with pytest.raises(Refused):
            measure(here, batch, 1)
        harvest = take_out(here, batch, 0, all_measured="yes")
        batch.refresh_from_db()
        assert (batch.stage, balance(here, harvest).harvested) == ("discarded", 3 * TUB)


def test_bits_left_in_the_sieve_are_an_addition_to_the_filling_lot_and_never_scraps(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        mature(here, batch)
        with open_ledger(here) as ledger:
            place = cast.drum.places.get(letter="B")
            filling = open_batch(ledger, place, uid=uuid4(), person=None, via="web", at=NOW + 20 * DAY)
        part = measure(here, batch, 3, overs_litres="4")
        first = take_out(here, batch, 5, overs_litres="6,5")
        into = Overs.objects.within(here).filter(batch=filling)
        assert [(row.millilitres, row.out_of) for row in into.order_by("pk")] == [(4000, batch), (6500, batch)]
        assert Contribution.objects.within(here).count() == 0
        take_back(here, part)
        take_out(here, batch, 5, overs_litres="2", corrects=str(first.uid))
        assert sum(row.millilitres for row in into) == 2000


def test_m6_the_tub_weighed_empty_and_full_of_water_says_what_it_holds(cast: Cast) -> None:
    # M6, R: Livestock Industry's Environmental Improvement Organization, Japan, bucket test: empty 0.2, full of water
    # 10.5, full of mix 7.8 kg: 10.3 L; 0.74 kg/L.
    found = told(whole_tubs="10", part="0", tub_litres="8", tub_empty_kg="0,2", tub_water_kg="10.5", tub_full_kg="7.8")
    assert (found.tub_ml, found.weighed_g) == (10_300, 76_000)
    printed = BucketTest(0.2, 10.5, 7.8)
    assert found.tub_ml == round(printed.litres * 1000)
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        row = record_part(building=here, batch_uid=batch.uid, told=found, person=None, via="web", now=OUT).row
        assert (row.tub_empty_g, row.tub_water_g, row.tub_full_g) == (200, 10_500, 7800)
        kg_per_litre = (row.weighed_g or 0) / row.millilitres
        assert round(kg_per_litre, 2) == round(printed.kg_per_litre, 2) == 0.74
        harvest = take_out(here, batch, 0, all_measured="yes")
        assert came_out(here, [harvest])[harvest.pk].weighed_g == 76_000


def test_m7_one_full_tub_of_known_litres_says_what_all_weigh() -> None:
    # M7, C: Eawag/Sandec after Cooperband 2002: 20 L bucket, 1 kg empty, 10 kg full: 0.45 kg/L.
    found = told(whole_tubs="4", part="0.5", tub_litres="20", tub_empty_kg="1", tub_full_kg="10")
    assert (found.tub_ml, found.weighed_g) == (20_000, 40_500)
    assert 40_500 / (4.5 * 20_000) == 0.45


@pytest.mark.parametrize(
    ("raw", "grams"),
    [
        ({"whole_tubs": "4", "part": "0", "gross_kilograms": "22.8", "tub_empty_kg": "0.7"}, 20_000),
        ({"whole_tubs": "4", "part": "0.3", "gross_kilograms": "23.5", "tub_empty_kg": "0.7"}, 20_000),  # five times
        ({"kilograms": "19", "gross_kilograms": "23.5", "tub_empty_kg": "0.7"}, 19_000),  # net was weighed itself
        ({"tub_empty_kg": "0.7"}, None),
    ],
)
def test_the_tub_is_taken_off_each_time_it_was_on_the_scale(raw: dict[str, str], grams: int | None) -> None:
    assert told(**raw).weighed_g == grams


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"gross_kilograms": "20"}, "tub_empty_kg"),
        ({"gross_kilograms": "3.5", "tub_empty_kg": "0.7"}, "gross_kilograms"),  # 5 tubs weigh that much empty
        ({"tub_full_kg": "8"}, "tub_empty_kg"),
        ({"tub_full_kg": "0.7", "tub_empty_kg": "0.7"}, "tub_full_kg"),
        ({"tub_water_kg": "0.7", "tub_empty_kg": "0.7"}, "tub_water_kg"),
        ({"tub_water_kg": "1.699", "tub_empty_kg": "0.7"}, "tub_water_kg"),  # 0.999 L
        ({"tub_water_kg": "60.701", "tub_empty_kg": "0.7"}, "tub_water_kg"),
        ({"is_empty": "yes"}, "is_empty"),  # both said
        ({"more": ""}, "is_empty"),  # neither
        ({"whole_tubs": "0", "part": "0", "all_measured": "yes"}, "whole_tubs"),  # a part is something
    ],
)
def test_weights_and_words_that_cannot_be_are_refused_by_name(raw: dict[str, str], field: str) -> None:
    with pytest.raises(Refused) as refused:
        told(**raw)
    assert set(refused.value.errors) == {field}


def test_at_its_edges_a_tub_of_water_is_believed() -> None:
    assert told(tub_water_kg="1.7", tub_empty_kg="0.7").tub_ml == 1000
    assert told(tub_water_kg="60.7", tub_empty_kg="0.7").tub_ml == 60_000
    assert TubWeights().holds_ml is None


def test_a_lot_of_another_building_is_none_and_neither_is_its_part(cast: Cast) -> None:
    with inside(cast.elsewhere.uid) as there:
        theirs = lot(there, cast.elsewhere_drum)
        part = measure(there, theirs, 1)
    with inside(cast.building.uid) as here:
        with pytest.raises(Batch.DoesNotExist):
            measure(here, theirs, 1)
        with pytest.raises(HarvestPart.DoesNotExist):
            take_back(here, part)


def test_balances_take_as_many_queries_for_many_parts_as_for_few(cast: Cast) -> None:
    def queries() -> int:
        rows_ = list(Harvest.objects.within(here))
        with CaptureQueriesContext(connection) as seen:
            balances(here, rows_)
        return len(seen)

    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        take_out(here, batch, 4)
        measure(here, batch, 1)
        few = queries()
        for _ in range(5):
            measure(here, batch, 1)
        assert queries() == few == 2


def test_a_part_that_names_another_as_wrong_is_told_to_take_it_back_first(cast: Cast) -> None:
    with inside(cast.building.uid) as here, pytest.raises(Refused) as refused:
        measure(here, lot(here, cast.drum), 1, corrects=str(UUID(int=1)))
    assert set(refused.value.errors) == {"corrects"}
