"""Pails measured and weighed: the bucket method by the services, ten weighed pails, three sizes."""

import datetime as dt
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.intake.dropoff import DropOff, record_drop_off
from bins.mixing.pails import Size, add_pail, measure_pail
from bins.mixing.weighing import PailState, Recorded, Weighing, accept_weight, pail_states, weigh_pail
from bins.models import Contribution, Pail
from bins.records import Refused
from households.ledger import UidReused
from households.models import Audit
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded
DAY = dt.timedelta(days=1)


def the_pail(cast: Cast) -> Pail:
    with inside(cast.building.uid) as here:
        pail: Pail = Pail.objects.within(here).select_related("site").order_by("number")[0]
    return pail


def measure(cast: Cast, **raw: object) -> Pail:
    pail = the_pail(cast)
    with inside(cast.building.uid) as here:
        told = Size.from_raw({"uid": str(pail.uid), "name": "pail"} | raw, pail.site.cup_ml)
        return measure_pail(building=here, pail=pail, told=told, person=cast.caretaker, now=NOW)


def weigh(cast: Cast, now: dt.datetime = NOW, **raw: object) -> Recorded:
    with inside(cast.building.uid) as here:
        told = Weighing.from_raw({"uid": str(uuid4()), "pail": str(the_pail(cast).uid)} | raw)
        return weigh_pail(building=here, told=told, person=cast.caretaker, via="web", now=now)


def state(cast: Cast, now: dt.datetime = NOW) -> PailState:
    with inside(cast.building.uid) as here:
        return pail_states(here, now)[0]


def bring(cast: Cast, **raw: object) -> Contribution:
    told = DropOff.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4} | raw)
    with inside(cast.building.uid) as here:
        return record_drop_off(
            building=here, told=told, household=cast.resident.household, person=cast.resident, via="web", now=NOW
        ).row


def test_m6_the_bucket_test_by_measuring_with_water_and_weighing_full(cast: Cast) -> None:
    # M6: Livestock Industry's Environmental Improvement Organization, Japan: 0.2 / 10.5 / 7.8 kg, 10.3 L, 0.74 kg/L
    pail = measure(cast, empty_kg="0,2", water_kg="10,5")
    assert (pail.millilitres, pail.measured) == (10_300, "water")
    row = weigh(cast, empty_kg=0.2, full_kg=7.8).row
    assert (row.net_g, row.gross_g, row.tare_g, row.pail_ml) == (7600, 7800, 200, 10_300)
    assert row.g_per_l / 1000 == pytest.approx(0.74, abs=0.005)


def test_m7_a_pail_of_known_litres(cast: Cast) -> None:
    # M7: Eawag/Sandec after Cooperband 2002: 20 L, 1 kg empty, 10 kg full is 0.45 kg/L
    measure(cast, litres=20)
    assert weigh(cast, empty_kg=1, full_kg=10).row.g_per_l == 450


def test_a_pail_is_measured_by_counting_the_sites_own_cups(cast: Cast) -> None:
    pail = measure(cast, cups=9)
    assert (pail.millilitres, pail.measured) == (9000, "cups")


def test_ten_weighed_pails_propose_their_median_and_nine_do_not(cast: Cast) -> None:
    kilos = (3.2, 3.4, 3.6, 3.8, 4.0, 4.2, 4.4, 4.6, 7.9)
    for net in kilos:
        weigh(cast, net_kg=net)
    assert (state(cast).weighed, state(cast).lacking, state(cast).proposed_g_per_l) == (9, 1, None)
    weigh(cast, net_kg=4.0)
    found = state(cast)
    assert (found.weighed, found.proposed_g_per_l) == (10, 500)  # 4.0 kg in 8 L: the melon pulls nothing
    assert found.full is not None
    assert found.full.low_grams < found.full.mean_grams == 4310 < found.full.high_grams


def test_a_yes_counts_for_what_comes_and_old_rows_keep_their_figures(cast: Cast) -> None:
    before = bring(cast)
    for _ in range(10):
        weigh(cast, net_kg=4)
    with inside(cast.building.uid) as here:
        uid = the_pail(cast).uid
        for _ in range(2):  # saying yes twice is one change
            pail = accept_weight(building=here, uid=uid, g_per_l=500, person=cast.caretaker, now=NOW)
        assert Audit.objects.within(here).filter(act="pail-calibrated").count() == 1
    assert (pail.scraps_g_per_l, pail.calibrated_on) == (500, NOW.date())
    after = bring(cast)
    assert (before.scraps_g, before.scraps_g_per_l) == (3600, 450)
    assert (after.scraps_g, after.scraps_g_per_l) == (4000, 500)
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).get(pk=before.pk).scraps_g == 3600


def test_a_yes_to_a_figure_that_moved_or_with_too_few_is_refused(cast: Cast) -> None:
    def accept(g_per_l: int) -> None:
        with inside(cast.building.uid) as here:
            accept_weight(building=here, uid=the_pail(cast).uid, g_per_l=g_per_l, person=None, now=NOW)

    with pytest.raises(Refused):
        accept(450)
    for _ in range(10):
        weigh(cast, net_kg=4)
    with pytest.raises(Refused):
        accept(499)


@pytest.mark.parametrize(("days", "due"), [(27, False), (28, True), (29, True)])
def test_a_new_pail_wants_weighing_after_four_weeks(cast: Cast, days: int, due: bool) -> None:
    assert state(cast, NOW + days * DAY).is_due is due


@pytest.mark.parametrize(("days", "due"), [(181, False), (182, True), (183, True)])
def test_each_half_year_ten_new_ones_are_wanted(cast: Cast, days: int, due: bool) -> None:
    for _ in range(10):
        weigh(cast, net_kg=4)
    with inside(cast.building.uid) as here:
        accept_weight(building=here, uid=the_pail(cast).uid, g_per_l=500, person=None, now=NOW)
    later = state(cast, NOW + days * DAY)
    assert (later.is_due, later.weighed, later.proposed_g_per_l) == (due, 0, None)


@pytest.mark.parametrize(("days", "counted"), [(181, 1), (182, 0)])
def test_a_weighing_counts_for_half_a_year(cast: Cast, days: int, counted: int) -> None:
    weigh(cast, net_kg=4)
    assert state(cast, NOW + days * DAY).weighed == counted


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({}, "full_kg"),
        ({"full_kg": 4}, "empty_kg"),
        ({"full_kg": 1, "empty_kg": 1}, "full_kg"),
        ({"net_kg": 1.5}, "full_kg"),  # 8 L of scraps weigh 1.6 to 8 kg
        ({"net_kg": 8.1}, "full_kg"),
        ({"net_kg": 4, "pail": str(uuid4())}, "pail"),
    ],
)
def test_a_weight_that_cannot_be_is_refused(cast: Cast, raw: dict[str, object], field: str) -> None:
    with pytest.raises(Refused) as refused:
        weigh(cast, **raw)
    assert set(refused.value.errors) == {field}


@pytest.mark.parametrize("net_kg", [1.6, 8])
def test_the_lightest_and_the_heaviest_in_print_are_taken(cast: Cast, net_kg: float) -> None:
    assert weigh(cast, net_kg=net_kg).is_new


def test_a_weighing_arrives_once(cast: Cast) -> None:
    raw = {"uid": str(uuid4()), "net_kg": 4}
    assert [weigh(cast, **raw).is_new, weigh(cast, **raw).is_new] == [True, False]
    with pytest.raises(UidReused):
        weigh(cast, **raw | {"net_kg": 4.1})
    assert state(cast).weighed == 1


def test_a_drop_off_names_its_pail_and_the_first_counts_where_none_is_named(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        told = Size.from_raw({"uid": str(uuid4()), "name": "small pail", "litres": 5}, 1000)
        small = add_pail(building=here, site=cast.drum.site, told=told, person=None, now=NOW)
    assert (bring(cast).pail_ml, bring(cast, pail=str(small.uid)).pail_ml) == (8000, 5000)
    with pytest.raises(Refused):
        bring(cast, pail=str(uuid4()))


def test_a_pail_of_another_building_cannot_be_named(cast: Cast) -> None:
    with inside(cast.elsewhere.uid) as there:
        foreign = Pail.objects.within(there).get()
    with pytest.raises(Refused):
        bring(cast, pail=str(foreign.uid))


def test_a_site_has_three_sizes_at_most_and_each_is_added_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for name in ("small", "large"):
            told = Size.from_raw({"uid": str(uuid4()), "name": name, "litres": 5}, 1000)
            for _ in range(2):
                add_pail(building=here, site=cast.drum.site, told=told, person=None, now=NOW)
        told = Size.from_raw({"uid": str(uuid4()), "name": "fourth", "litres": 5}, 1000)
        with pytest.raises(Refused):
            add_pail(building=here, site=cast.drum.site, told=told, person=None, now=NOW)
        numbers = Pail.objects.within(here).order_by("number").values_list("number", flat=True)
        assert list(numbers) == [1, 2, 3]


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"name": ""}, "name"),
        ({"litres": "0.4"}, "litres"),
        ({"litres": 41}, "litres"),
        ({"water_kg": 9}, "empty_kg"),
        ({"water_kg": 1, "empty_kg": 1}, "water_kg"),
        ({}, "litres"),
    ],
)
def test_a_size_that_cannot_be_is_refused(raw: dict[str, object], field: str) -> None:
    with pytest.raises(Refused) as refused:
        Size.from_raw({"uid": str(uuid4()), "name": "pail"} | ({"litres": 8} if "name" in raw else {}) | raw, 1000)
    assert set(refused.value.errors) == {field}


def test_the_queries_do_not_grow_with_pails_and_weighings(cast: Cast) -> None:
    def queries() -> int:
        with inside(cast.building.uid) as here, CaptureQueriesContext(connection) as caught:
            pail_states(here, NOW)
        return sum("bins_pail" in query["sql"] for query in caught)

    one = queries()
    with inside(cast.building.uid) as here:
        for name in ("small", "large"):
            told = Size.from_raw({"uid": str(uuid4()), "name": name, "litres": 5}, 1000)
            add_pail(building=here, site=cast.drum.site, told=told, person=None, now=NOW)
    for _ in range(12):
        weigh(cast, net_kg=4)
    assert one == queries() == 2
