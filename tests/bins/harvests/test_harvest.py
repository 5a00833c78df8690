"""Taking a lot out: measured in tubs, recorded as it happened, once."""

from uuid import UUID, uuid4

import pytest

from bins.care.stages import go_to, open_batch
from bins.harvests.balance import balance
from bins.harvests.harvest import record_harvest, standing
from bins.harvests.measured import Measured
from bins.harvests.terms import Decided, Terms, set_terms
from bins.models import Batch, Decision, Harvest, Place, StageChange
from bins.records import Refused
from households.ledger import UidReused, open_ledger
from households.models import Audit, Building, Site
from households.tenancy import inside
from tests.bins.harvests.harvested import DAY, OUT, lose, lot, mature, share_out, take_out
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def told(**raw: object) -> dict[str, object]:
    return {"uid": str(uuid4()), "whole_tubs": "4", "part": "0.3", "is_empty": "yes"} | raw


def test_a_finished_lot_is_measured_in_whole_tubs_and_a_part_and_its_place_is_empty(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        place = batch.place
        mature(here, batch)
        row = take_out(here, batch, 12, "0.3", kilograms="70,5", tub_litres="9.5")
        batch.refresh_from_db()
        assert (row.whole_tubs, row.part_millionths, row.millionths) == (12, 300_000, 12_300_000)
        assert (row.tub_ml, row.weighed_g, row.was_ready, row.place) == (9500, 70_500, True, place)
        assert row.millilitres == 116_850  # 12.3 tubs of 9.5 L
        assert (batch.stage, batch.place, batch.ended_at) == ("harvested", None, OUT)
        change = StageChange.objects.within(here).order_by("ledger_number").last()
        assert (change.from_stage, change.to_stage, change.cause) == ("ready", "harvested", "harvested")
        assert balance(here, row).waiting == 12_300_000


def test_the_tub_is_the_sites_own_where_nobody_says_otherwise(cast: Cast) -> None:
    # Marked at 10 L: lifting from under a drum allows about 9 kg (NIOSH equation: H 40, V 30, D 70, A 30: 8.95 kg).
    with inside(cast.building.uid) as here:
        assert take_out(here, lot(here, cast.drum), 1).tub_ml == 10_000


def test_a_lot_that_is_not_ready_is_recorded_all_the_same_and_its_questions_are_overtaken(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        question = Decision.objects.create(
            building=here, batch=batch, rule="close", version="days-1", from_stage="filling", to_stage="composting",
            reason="level_at_mark", made_at=NOW, figures_at=NOW,
        )  # fmt: skip
        row = take_out(here, batch, 2)
        batch.refresh_from_db()
        question.refresh_from_db()
        assert (row.was_ready, batch.stage, batch.closed_at) == (False, "harvested", OUT)
        assert question.state == "overtaken"


def test_what_the_sieve_holds_back_goes_into_the_filling_lot_of_the_drum(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        mature(here, batch)
        other = cast.drum.places.get(letter="B")
        with open_ledger(here) as ledger:
            filling = open_batch(ledger, other, uid=uuid4(), person=None, via="web", at=NOW + 20 * DAY)
        row = take_out(here, batch, 5, overs_litres="6,5")
        assert (row.overs_ml, row.overs_batch) == (6500, filling)


def test_without_a_filling_lot_the_bits_are_recorded_and_belong_to_none(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = take_out(here, lot(here, cast.drum), 5, overs_litres=6)
        assert (row.overs_ml, row.overs_batch) == (6000, None)


def test_the_same_uid_twice_is_one_row_and_with_other_values_it_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch, raw = lot(here, cast.drum), told()
        first, again = (
            record_harvest(
                building=here, batch_uid=batch.uid, told=Measured.from_raw(raw), person=None, via="web", now=OUT
            )
            for _ in range(2)
        )
        assert (first.is_new, again.is_new, first.row.pk) == (True, False, again.row.pk)
        with pytest.raises(UidReused):
            take_out(here, batch, 9, uid=raw["uid"])
        assert Harvest.objects.within(here).count() == 1


def test_measured_again_before_the_split_the_first_is_reversed_and_the_sum_is_the_second(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        first = take_out(here, batch, 20)
        second = take_out(here, batch, 2, corrects=str(first.uid))
        assert standing(here, batch) == second
        assert (second.measurement, second.was_ready, second.place) == (2, first.was_ready, first.place)
        assert sum(row.millionths for row in Harvest.objects.within(here)) == 2_000_000
        assert StageChange.objects.within(here).filter(to_stage="harvested").count() == 1


def test_a_second_measurement_that_does_not_say_which_it_puts_right_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        take_out(here, batch, 20)
        for corrects in ({}, {"corrects": str(uuid4())}):
            with pytest.raises(Refused) as refused:
                take_out(here, batch, 2, **corrects)
            assert set(refused.value.errors) == {"batch"}


def test_after_the_split_or_a_loss_the_measurement_stays(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        row = take_out(here, batch, 3)
        lose(here, row, 1_000_000)
        with pytest.raises(Refused):
            take_out(here, batch, 4, corrects=str(row.uid))
        share_out(here, row)
        with pytest.raises(Refused):
            take_out(here, batch, 4, corrects=str(row.uid))


def test_a_lot_that_was_thrown_out_cannot_be_taken_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = lot(here, cast.drum)
        with open_ledger(here) as ledger:
            go_to(ledger, batch, "discarded", person=None, via="web", at=NOW, cause="discarded")
        with pytest.raises(Refused) as refused:
            take_out(here, batch, 1)
        assert set(refused.value.errors) == {"batch"}


def test_a_lot_of_another_building_is_none(cast: Cast) -> None:
    with inside(cast.elsewhere.uid) as there:
        theirs = lot(there, cast.elsewhere_drum)
    with inside(cast.building.uid) as here, pytest.raises(Batch.DoesNotExist):
        take_out(here, theirs, 1)


def test_every_fault_of_a_measurement_is_named_at_once() -> None:
    with pytest.raises(Refused) as refused:
        Measured.from_raw(
            {"uid": "x", "whole_tubs": "many", "part": "0.33", "tub_litres": "0.9", "kilograms": "-1",
             "overs_litres": "much", "happened_at": "noon", "corrects": "y"}
        )  # fmt: skip
    assert set(refused.value.errors) == {
        "uid", "whole_tubs", "part", "tub_litres", "kilograms", "overs_litres", "happened_at", "corrects", "is_empty",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"whole_tubs": "0", "part": "0"}, "whole_tubs"),
        ({"whole_tubs": "1001"}, "whole_tubs"),
        ({"tub_litres": "0.999"}, "tub_litres"),
        ({"tub_litres": "60.001"}, "tub_litres"),
        ({"is_empty": ""}, "is_empty"),
        ({"is_empty": "no"}, "is_empty"),
    ],
)
def test_before_an_edge_it_is_refused(raw: dict[str, object], field: str) -> None:
    with pytest.raises(Refused) as refused:
        Measured.from_raw(told(**raw))
    assert set(refused.value.errors) == {field}


@pytest.mark.parametrize(
    ("raw", "millionths"),
    [
        ({"whole_tubs": "0", "part": "0,1"}, 100_000),
        ({"whole_tubs": 0, "part": 0.25}, 250_000),
        ({"whole_tubs": "1000", "part": "0"}, 1_000_000_000),
        ({"whole_tubs": "3", "part": "", "tub_litres": "1", "overs_litres": "0"}, 3_000_000),
        ({"whole_tubs": "3", "part": "0.75", "tub_litres": "60"}, 3_750_000),
    ],
)
def test_at_an_edge_it_is_taken(raw: dict[str, object], millionths: int) -> None:
    found = Measured.from_raw(told(**raw))
    assert found.whole_tubs * 1_000_000 + found.part_millionths == millionths


def decided(why: str = "asked for at the meeting") -> Decided:
    return Decided(uuid4(), None, why)


def terms(site: UUID, **raw: object) -> Terms:
    return Terms.from_raw(
        {"site": str(site), "sharing_kind": "contribution", "reserve_percent": "10", "ceiling_percent": "150",
         "least_drop_offs": "2", "tub_litres": "12,5", "unclaimed_after_days": "10"} | raw
    )  # fmt: skip


def test_the_rule_in_force_when_a_lot_opens_is_that_lots_rule(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
        set_terms(building=here, told=terms(site.uid), decided=decided(), by=cast.committee, via="web", now=NOW)
        old = lot(here, cast.drum)
        with open_ledger(here) as ledger:
            go_to(ledger, old, "composting", person=None, via="web", at=NOW)
            place = Place.objects.within(here).get(drum=cast.drum, letter="B")
            new = open_batch(ledger, place, uid=uuid4(), person=None, via="web", at=NOW)
        new.refresh_from_db()
        old.refresh_from_db()
        site.refresh_from_db()
        assert (old.sharing_kind, old.reserve_percent, old.ceiling_percent, old.least_drop_offs) == (
            "equal",
            20,
            200,
            3,
        )
        assert (new.sharing_kind, new.reserve_percent, new.ceiling_percent, new.least_drop_offs) == (
            "contribution", 10, 150, 2,
        )  # fmt: skip
        assert (site.tub_ml, site.unclaimed_after_days) == (12_500, 10)


def test_saying_the_same_terms_twice_is_noted_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
        for _ in range(2):
            told_ = terms(site.uid, ceiling_percent="")
            set_terms(building=here, told=told_, decided=decided(), by=cast.committee, via="web", now=NOW)
        (noted,) = Audit.objects.within(here).filter(act="sharing-set")
        assert noted.detail["ceiling_percent"] is None


@pytest.mark.parametrize(
    ("name", "value"),
    [("reserve_percent", "101"), ("ceiling_percent", "99"), ("least_drop_offs", "0"), ("tub_litres", ""),
     ("unclaimed_after_days", "61"), ("sharing_kind", "by height"), ("least_tubs", "51"), ("most_tubs", "0"),
     ("minutes_a_visit", "241"), ("reserve_percent", "")],
)  # fmt: skip
def test_terms_that_cannot_be_are_refused_by_name(name: str, value: str) -> None:
    with pytest.raises(Refused) as refused:
        terms(uuid4(), **{name: value})
    assert set(refused.value.errors) == {name}


def test_terms_of_another_buildings_site_are_not_there(cast: Cast) -> None:
    other: Building = cast.elsewhere
    with inside(other.uid) as there:
        site = Site.objects.within(there).get()
    with inside(cast.building.uid) as here, pytest.raises(Site.DoesNotExist):
        set_terms(building=here, told=terms(site.uid), decided=decided(), by=None, via="web", now=NOW)
