"""What the open hatch lacks, and that what was added counts afterwards."""

import datetime as dt
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.hatch import drum_states
from bins.intake.dropoff import DropOff, record_drop_off, undo_drop_off
from bins.mixing.amending import Added, Recorded, amend
from bins.mixing.batch_mix import mixes
from bins.mixing.browns import BrownsTold, tell_browns
from bins.mixing.mixing import CorrectionTask, corrections
from bins.models import Amendment, Batch, Contribution
from bins.process.amendment import NotAchievable
from bins.process.browns import Correction
from bins.process.mix import moisture
from bins.records import Refused
from households.ledger import UidReused
from households.models import Building
from households.tenancy import inside
from tests.cast import NOW, Cast, cast_of_two_blocks, found

pytestmark = pytest.mark.embedded


def bring(cast: Cast, pails: int, cups: int = 0, **more: object) -> Contribution:
    raw = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4 * pails, "browns_cups": cups}
    with inside(cast.building.uid) as here:
        return record_drop_off(
            building=here, told=DropOff.from_raw(raw | more), household=cast.resident.household,
            person=cast.resident, via="web", now=NOW,
        ).row  # fmt: skip


def batch_of(cast: Cast) -> Batch:
    with inside(cast.building.uid) as here:
        batch: Batch = Batch.objects.within(here).get(drum=cast.drum)
    return batch


def tasks(cast: Cast) -> tuple[CorrectionTask, ...]:
    with inside(cast.building.uid) as here:
        return corrections(here, drum_states(here))


def add(cast: Cast, **raw: object) -> Recorded:
    with inside(cast.building.uid) as here:
        told = Added.from_raw({"uid": str(uuid4()), "batch": str(batch_of(cast).uid)} | raw)
        return amend(building=here, told=told, person=cast.caretaker, via="web", now=NOW)


def test_a_wet_batch_asks_for_the_fewest_litres_and_what_is_added_settles_it(cast: Cast) -> None:
    bring(cast, 3)  # 10.8 kg at 80 % in a chamber of 100 L
    (task,) = tasks(cast)
    assert isinstance(task.says, Correction)
    # By hand: (8.64 + 0.08 x) / (10.8 + x) = 0.60 for x = 4.15 kg of pellets: 6.4 L, so 7 whole ones.
    assert (task.kind, task.says.browns_litres, task.says.water_litres) == ("pellets", 7, 0)
    add(cast, browns_litres="7", browns="pellets")
    assert tasks(cast) == ()
    with inside(cast.building.uid) as here:
        mix = mixes(here, [batch_of(cast)])[batch_of(cast).pk]
    assert dict(mix.browns_ml) == {"pellets": 7000}
    assert moisture(mix.portions()) == pytest.approx(task.says.moisture_after)


def test_browns_that_residents_brought_count_by_their_kind_at_the_time(cast: Cast) -> None:
    bring(cast, 2, cups=3)
    with inside(cast.building.uid) as here:
        tell_browns(
            building=here, site_uid=cast.drum.site.uid, told=BrownsTold("leaves", 1000, "bring"),
            person=cast.caretaker, now=NOW,
        )  # fmt: skip
    bring(cast, 2, cups=1)
    with inside(cast.building.uid) as here:
        mix = mixes(here, [batch_of(cast)])[batch_of(cast).pk]
    assert dict(mix.browns_ml) == {"pellets": 3000, "leaves": 1000}
    assert (mix.scraps_ml, mix.scraps_g) == (32_000, 14_400)


def test_browns_in_the_pail_already_are_no_scraps(cast: Cast) -> None:
    row = bring(cast, 1, cups=2, browns_in_pail="yes")
    assert (row.scraps_ml, row.browns_ml, row.scraps_g) == (6000, 2000, 2700)


def test_a_drop_off_taken_back_leaves_the_mix(cast: Cast) -> None:
    row = bring(cast, 3)
    with inside(cast.building.uid) as here:
        undo_drop_off(building=here, row=row, person=cast.resident, via="web", now=NOW)
        assert mixes(here, [batch_of(cast)])[batch_of(cast).pk].is_empty
    assert tasks(cast) == ()


@pytest.mark.parametrize(("quarters", "asked"), [(4, 0), (5, 1)])
def test_hardly_anything_in_it_asks_for_nothing_yet(cast: Cast, quarters: int, asked: int) -> None:
    bring(cast, 1, quarter_pails=quarters)  # 8 and 10 L of 100
    assert len(tasks(cast)) == asked


def test_browns_that_cannot_do_it_are_said_with_what_would(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        tell_browns(
            building=here, site_uid=cast.drum.site.uid, told=BrownsTold("leaves", 1000, "bring"),
            person=cast.caretaker, now=NOW,
        )  # fmt: skip
    for _ in range(5):
        bring(cast, 2)  # 80 L: a fifth of the chamber is left
    (task,) = tasks(cast)
    assert isinstance(task.says, NotAchievable)
    assert task.says.goal == "moisture"


def test_a_dry_batch_asks_for_water_and_the_water_counts(cast: Cast) -> None:
    bring(cast, 2)  # 7.2 kg
    add(cast, browns_litres=25, browns="pellets")  # 16.25 kg
    (task,) = tasks(cast)
    assert isinstance(task.says, Correction)
    # By hand: (5.76 + 1.30) of 23.45 kg is 30 %; w litres more make half of it water for w = 9.34.
    assert (task.says.browns_litres, task.says.water_litres) == (0, 10)
    add(cast, browns_litres="0", water_litres=10)
    assert tasks(cast) == ()


def test_browns_and_water_are_a_row_each_and_arrive_once(cast: Cast) -> None:
    uid = str(UUID(int=7))
    raw = {"uid": uid, "browns_litres": "2,5", "browns": "shavings", "water_litres": 1}
    first, again = add(cast, **raw), add(cast, **raw)
    assert (first.is_new, again.is_new) == (True, False)
    assert [(row.material, row.millilitres) for row in again.rows] == [("shavings", 2500), ("water", 1000)]
    with pytest.raises(UidReused):
        add(cast, **raw | {"water_litres": 2})
    with inside(cast.building.uid) as here:
        assert Amendment.objects.within(here).count() == 2


def test_another_buildings_batch_is_not_amended(cast: Cast) -> None:
    with inside(cast.elsewhere.uid) as there:
        foreign = Batch.objects.within(there).get()
    told = Added.from_raw({"uid": str(uuid4()), "batch": str(foreign.uid), "water_litres": 1})
    with inside(cast.building.uid) as here, pytest.raises(Batch.DoesNotExist):
        amend(building=here, told=told, person=None, via="web", now=NOW)


@pytest.mark.parametrize("raw", [{}, {"browns_litres": "0"}, {"water_litres": "-1"}, {"browns_litres": 5}])
def test_nothing_added_or_no_kind_is_refused(raw: dict[str, object]) -> None:
    with pytest.raises(Refused):
        Added.from_raw({"uid": str(uuid4()), "batch": str(uuid4())} | raw)


def test_the_queries_do_not_grow_with_the_drums(db: None) -> None:
    cast = cast_of_two_blocks()
    many = found("Long Row", "Ada", "ada@long-row.invalid", drums=5).building

    def queries(building: Building) -> int:
        with inside(building.uid) as here:
            states = drum_states(here)
            with CaptureQueriesContext(
                connection,
            ) as caught:
                corrections(here, states)
        return len(caught)

    assert queries(cast.building) == queries(many) == 2


def test_what_was_added_before_counts_from_when_it_was_added(cast: Cast) -> None:
    earlier = NOW - dt.timedelta(days=1)
    row = add(cast, water_litres=1, happened_at=earlier.isoformat()).rows[0]
    assert (row.counts_at, row.heard_at) == (earlier, NOW)
