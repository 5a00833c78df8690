"""A correction: the old row reversed and the true one beside it, in one step, for two weeks."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.db.models import Sum

from bins.intake.correcting import correct_drop_off
from bins.intake.dropoff import DropOff, of_household, record_drop_off, undo_drop_off
from bins.models import Contribution, Pail
from bins.records import Refused
from households.ledger import UidReused
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded

LATER = NOW + dt.timedelta(days=2)


def told(cast: Cast, **raw: Any) -> DropOff:
    return DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 8} | raw)


def logged(cast: Cast, **raw: Any) -> Contribution:
    with inside(cast.building.uid) as here:
        return record_drop_off(
            building=here, told=told(cast, **raw), household=cast.resident.household, person=cast.resident, via="web",
            now=NOW,
        ).row  # fmt: skip


def correct(cast: Cast, row: Contribution, right: DropOff, now: dt.datetime = LATER) -> Contribution:
    with inside(cast.building.uid) as here:
        old = Contribution.objects.within(here).select_related("drum", "pail", "place").get(pk=row.pk)
        return correct_drop_off(building=here, row=old, told=right, person=cast.resident, via="web", now=now).row


def test_the_sum_is_that_of_the_true_row_and_both_steps_stay(cast: Cast) -> None:
    row = logged(cast)
    right = correct(cast, row, told(cast, quarter_pails=2))
    with inside(cast.building.uid) as here:
        rows = Contribution.objects.within(here).order_by("ledger_number")
        # 2 pails of 8 L at 0.45 kg/L are 7.2 kg, half a pail 1.8 kg.
        assert [one.scraps_g for one in rows] == [7200, -7200, 1800]
        assert rows.aggregate(sum=Sum("scraps_g"))["sum"] == 1800
        assert cast.resident.household is not None
        assert list(of_household(here, cast.resident.household)) == [right]


def test_what_is_not_told_again_stays_time_batch_pail_and_household(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        small = Pail.objects.create(
            building=here, site=cast.drum.site, number=2, name="small", millilitres=4000, measured_on=NOW.date()
        )
    row = logged(cast, happened_at="2026-05-04T15:59:00Z", pail=str(small.uid))
    right = correct(cast, row, told(cast, quarter_pails=4))
    assert (right.happened_at, right.counts_at, right.batch_id) == (row.happened_at, row.counts_at, row.batch_id)
    assert (right.heard_at, right.pail_id, right.scraps_ml) == (LATER, small.pk, 4000)
    with inside(cast.building.uid):
        assert right.attribution.household == cast.resident.household


def test_a_weight_can_take_the_place_of_pails(cast: Cast) -> None:
    right = correct(cast, logged(cast), told(cast, quarter_pails="", kilograms="3,25"))
    assert (right.known, right.scraps_g, right.quarter_pails) == ("weighed", 3250, None)


def test_a_correction_arrives_once_and_can_be_corrected_in_its_turn(cast: Cast) -> None:
    row, right = logged(cast), told(cast, quarter_pails=2)
    first = correct(cast, row, right)
    assert correct(cast, row, right).pk == first.pk
    with pytest.raises(UidReused):
        correct(cast, row, told(cast, uid=str(right.uid), quarter_pails=3))
    third = correct(cast, first, told(cast, quarter_pails=1))
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).aggregate(sum=Sum("scraps_g"))["sum"] == third.scraps_g == 900


def test_what_was_taken_back_or_corrected_already_is_refused_and_nothing_changes(cast: Cast) -> None:
    row = logged(cast)
    with inside(cast.building.uid) as here:
        undo_drop_off(building=here, row=row, person=None, via="web", now=NOW)
    with pytest.raises(Refused):
        correct(cast, row, told(cast))
    other = logged(cast)
    correct(cast, other, told(cast))
    with pytest.raises(Refused):
        correct(cast, other, told(cast))
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).count() == 2 + 3


@pytest.mark.parametrize(
    ("age", "is_taken"), [(dt.timedelta(days=14), True), (dt.timedelta(days=14, seconds=1), False)]
)
def test_a_correction_is_taken_for_14_days_from_the_writing_down(cast: Cast, age: dt.timedelta, is_taken: bool) -> None:
    row = logged(cast, happened_at="2026-04-10T10:00:00Z")
    if is_taken:
        correct(cast, row, told(cast, quarter_pails=1), NOW + age)
    else:
        with pytest.raises(Refused):
            correct(cast, row, told(cast, quarter_pails=1), NOW + age)
