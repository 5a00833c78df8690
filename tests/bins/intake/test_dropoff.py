"""Recording a drop-off: once, to the batch that was filling, with the conversion it was counted by."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.intake.dropoff import DropOff, record_drop_off, undo_drop_off
from bins.models import Contribution
from bins.months.figures import month
from bins.records import Refused
from households.ledger import UidReused
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def told(cast: Cast, **raw: object) -> DropOff:
    return DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4} | raw)


def record(cast: Cast, drop_off: DropOff, now: dt.datetime = NOW) -> Contribution:
    with inside(cast.building.uid) as here:
        return record_drop_off(
            building=here,
            told=drop_off,
            household=cast.resident.household,
            person=cast.resident,
            via="web",
            now=now,
        ).row


def test_a_counted_pail_is_kept_as_seen_and_as_grams_by_the_sites_own_density(cast: Cast) -> None:
    row = record(cast, told(cast, browns_cups=2))
    # 8 L x 0.45 kg/L = 3.6 kg; density: bucket method, Eawag/Sandec after Cooperband 2002 (20 L, 1 to 10 kg).
    assert (row.quarter_pails, row.scraps_ml, row.scraps_g, row.browns_ml) == (4, 8000, 3600, 2000)
    assert (row.known, row.pail_ml, row.scraps_g_per_l, row.cup_ml) == ("counted", 8000, 450, 1000)


@pytest.mark.parametrize("kilograms", ["2,35", "2.35", 2.35])
def test_a_weighed_one_takes_comma_and_point(cast: Cast, kilograms: object) -> None:
    row = record(cast, told(cast, kilograms=kilograms))
    assert (row.known, row.scraps_g, row.quarter_pails) == ("weighed", 2350, None)


def test_the_same_uid_and_values_give_the_row_that_stands_there(cast: Cast) -> None:
    drop_off = told(cast)
    first, second = record(cast, drop_off), record(cast, drop_off, NOW + dt.timedelta(hours=1))
    assert first.pk == second.pk
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).count() == 1


def test_the_same_uid_with_other_values_is_refused_and_the_first_stays(cast: Cast) -> None:
    drop_off = told(cast)
    record(cast, drop_off)
    with pytest.raises(UidReused):
        record(cast, told(cast, uid=str(drop_off.uid), quarter_pails=8))
    with inside(cast.building.uid) as here:
        assert [row.quarter_pails for row in Contribution.objects.within(here)] == [4]


def test_undo_adds_a_row_that_takes_the_amounts_back_and_only_once(cast: Cast) -> None:
    row = record(cast, told(cast, browns_cups=2))
    with inside(cast.building.uid) as here:
        first = undo_drop_off(building=here, row=row, person=cast.resident, via="web", now=NOW)
        again = undo_drop_off(building=here, row=row, person=cast.resident, via="web", now=NOW)
        figures = month(here, dt.date(2026, 5, 1))
    assert first.pk == again.pk
    assert (first.scraps_g, first.browns_ml, first.quarter_pails) == (-3600, -2000, -4)
    assert (figures.scraps_g, figures.browns_ml, figures.drop_offs, figures.households) == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("told_of", "doubt", "counts"),
    [
        (NOW, "none", NOW),
        (NOW + dt.timedelta(seconds=1), "future", NOW),
        (NOW - dt.timedelta(days=60), "none", NOW - dt.timedelta(days=60)),
        (NOW - dt.timedelta(days=60, seconds=1), "old", NOW),
    ],
)
def test_a_time_in_doubt_is_kept_and_the_time_heard_decides(
    cast: Cast, told_of: dt.datetime, doubt: str, counts: dt.datetime
) -> None:
    row = record(cast, told(cast, happened_at=told_of.isoformat()))
    assert (row.happened_at, row.doubt, row.counts_at) == (told_of, doubt, counts)


def test_every_fault_of_a_record_is_named_at_once() -> None:
    with pytest.raises(Refused) as refused:
        DropOff.from_raw({"uid": "x", "drum": "", "quarter_pails": "many", "browns_cups": 41, "happened_at": "noon"})
    assert set(refused.value.errors) == {"uid", "drum", "quarter_pails", "browns_cups", "happened_at"}
