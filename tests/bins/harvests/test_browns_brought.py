"""Browns brought are taking part: in which lot, whose, and what takes it back."""

import datetime as dt
from uuid import UUID, uuid4, uuid5

import pytest

from bins.care.stages import go_to, open_batch
from bins.harvests.browns_brought import browns_brought
from bins.harvests.part_taken import PartTaken, part_taken
from bins.harvests.sharing import restate
from bins.mixing.bringing import Brought, bring_browns, take_browns_back
from bins.mixing.stock import stocks
from bins.mixing.storing import Recorded, Stored, record_stock
from bins.models import Batch, BrownsStock, BrownsStockAttribution
from bins.people.moving_out import Leaving, move_out
from bins.process.stage import Stage
from bins.records import Refused
from households.ledger import UidReused, open_ledger
from households.models import Building, Household, Person, Site
from households.sharing.rule import Kind
from households.tenancy import inside
from tests.bins.harvests.harvested import DAY, OUT, bring, lot, resident, rule, share_out, shares_of, take_out
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded

A_SECOND = dt.timedelta(seconds=1)


def home(person: Person) -> Household:
    assert person.household is not None
    return person.household


def sack(
    here: Building, person: Person, litres: float = 60, at: dt.datetime = NOW, uid: UUID | None = None, **raw: object
) -> Recorded:
    site = Site.objects.within(here).get()
    told = Brought.from_raw({"uid": uid or uuid4(), "site": site.uid, "litres": litres} | raw)
    return bring_browns(building=here, told=told, household=home(person), person=person, via="web", now=at)


def takers(here: Building, cast: Cast, at: dt.datetime = OUT) -> set[str]:
    return set(shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 10, now=at), at)))


def test_browns_brought_are_taking_part_under_equal_shares(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = [resident(here, name) for name in "ABC"]
        bring(here, cast.drum, people[0], 3)
        bring(here, cast.drum, people[1], 2)  # one too few, and no browns
        sack(here, people[2])
        shares = shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 10)))
        # 10 tubs, a fifth for the beds: 8 for two.
        assert {name: share.tubs for name, share in shares.items()} == {"A": 4, "C": 4}


def test_what_somebody_else_wrote_down_for_a_household_counts_like_its_own_word(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        person, site = resident(here, "A"), Site.objects.within(here).get()
        raw = {"uid": uuid4(), "site": site.uid, "act": "delivery", "litres": 40, "fetched_by": home(person).uid}
        record_stock(building=here, told=Stored.from_raw(raw), person=cast.caretaker, via="web", now=NOW)
        raw = {"uid": uuid4(), "site": site.uid, "act": "delivery", "litres": 40}  # the shop's van: nobody's
        record_stock(building=here, told=Stored.from_raw(raw), person=cast.caretaker, via="web", now=NOW)
        raw = {"uid": uuid4(), "site": site.uid, "act": "count", "litres": 40}
        record_stock(building=here, told=Stored.from_raw(raw), person=cast.resident, via="web", now=NOW)
        assert takers(here, cast) == {"A"}


@pytest.mark.parametrize(
    ("kind", "has_part"), [("equal", True), ("request", True), ("care", False), ("contribution", False)]
)
def test_browns_count_where_taking_part_counts_and_weigh_nothing_by_weight_or_minutes(
    cast: Cast, kind: str, has_part: bool
) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind=Kind(kind).value)
        person = resident(here, "A")
        sack(here, person)
        harvest = take_out(here, lot(here, cast.drum), 10)
        found = part_taken(here, harvest, home(person))
        assert found == PartTaken(has_part, drop_offs=0, scraps_g=0, care_minutes=0, browns_ml=60_000)


def test_they_are_for_the_lot_that_fills_just_then_and_from_its_close_on_for_the_next(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        before, at, after, later = (resident(here, name) for name in "ABCD")
        first = lot(here, cast.drum)
        closed, opened = NOW + 20 * DAY, NOW + 25 * DAY
        sack(here, before, at=closed - A_SECOND)
        with open_ledger(here) as ledger:
            go_to(ledger, first, Stage.COMPOSTING, person=None, via="web", at=closed)
        sack(here, at, at=closed)  # no hatch is open: they wait in the store for the next lot
        with open_ledger(here) as ledger:
            place = cast.drum.places.get(letter="B")
            open_batch(ledger, place, uid=uuid4(), person=None, via="web", at=opened)
        sack(here, after, at=opened)
        first = Batch.objects.within(here).get(pk=first.pk)
        second = Batch.objects.within(here).get(stage="filling")
        assert set(browns_brought(here, first, [first])) == {home(before).uid}
        assert set(browns_brought(here, second, [second])) == {home(at).uid, home(after).uid}
        # Told late of a day before the close: that day decides.
        sack(here, later, at=opened + DAY, day=here.local(NOW + 3 * DAY).date().isoformat())
        assert set(browns_brought(here, first, [first])) == {home(before).uid, home(later).uid}


def test_a_lot_from_before_the_record_owes_nobody_for_browns(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        sack(here, resident(here, "A"))
        Batch.objects.within(here).update(from_record=True)
        assert takers(here, cast) == set()


def test_taken_back_they_count_for_nothing_and_twice_is_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        person, other = resident(here, "A"), resident(here, "B")
        row = sack(here, person, 60).row
        by = {"building": here, "uid": row.uid, "person": person, "via": "web"}
        with pytest.raises(BrownsStock.DoesNotExist):
            take_browns_back(**by, household=home(other), now=NOW)
        with pytest.raises(Refused):
            take_browns_back(**by, household=home(person), now=NOW + 14 * DAY + A_SECOND)
        done = take_browns_back(**by, household=home(person), now=NOW + 14 * DAY)
        assert done == take_browns_back(**by, household=home(person), now=NOW + 14 * DAY)
        assert stocks(here, NOW + 15 * DAY)[0].litres in (None, 0)
        assert takers(here, cast) == set()


def test_the_same_uid_is_one_sack_and_with_other_litres_it_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        person, uid = resident(here, "A"), uuid5(here.uid, "sack")
        assert sack(here, person, 60, uid=uid).is_new
        assert not sack(here, person, 60, uid=uid).is_new
        with pytest.raises(UidReused):
            sack(here, person, 61, uid=uid)
        assert stocks(here, NOW)[0].litres == 60


@pytest.mark.parametrize(("litres", "is_read"), [(0, False), (0.1, True), (500, True), (500.1, False)])
def test_a_household_brings_up_to_five_hundred_litres(cast: Cast, litres: float, is_read: bool) -> None:
    with inside(cast.building.uid) as here:
        person = resident(here, "A")
        if is_read:
            assert sack(here, person, litres).row.millilitres == litres * 1000
        else:
            with pytest.raises(Refused) as refused:
                sack(here, person, litres)
            assert set(refused.value.errors) == {"litres"}


def test_bringing_some_ends_the_word_that_there_are_none(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        site = Site.objects.within(here).get()
        raw = {"uid": uuid4(), "site": site.uid, "act": "count", "litres": 0}
        record_stock(building=here, told=Stored.from_raw(raw), person=None, via="web", now=NOW)
        assert Site.objects.within(here).get().browns_out_since == NOW
        sack(here, resident(here, "A"), at=NOW + DAY)
        assert Site.objects.within(here).get().browns_out_since is None


def test_brought_after_the_split_they_change_no_share_and_stand_in_the_restatement(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        first, second = resident(here, "A"), resident(here, "B")
        sack(here, first)
        split = share_out(here, take_out(here, lot(here, cast.drum), 10))
        sack(here, second, at=OUT + DAY, day=here.local(OUT - 50 * DAY).date().isoformat())
        assert set(shares_of(here, split)) == {"A"}
        assert restate(here, split).differing_households == 2  # 8 for one would be 4 each


def test_who_moves_out_is_forgotten_and_the_litres_stay(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        person = resident(here, "A")
        row = sack(here, person).row
        told = Leaving(uuid4(), here.local(NOW).date(), "garden")
        move_out(building=here, household=home(person), told=told, person=person, via="web", now=NOW + 2 * A_SECOND)
        assert not BrownsStockAttribution.objects.within(here).filter(row=row, household__isnull=False).exists()
        assert stocks(here, NOW + DAY)[0].litres == 60
        assert takers(here, cast) == set()
