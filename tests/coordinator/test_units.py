"""A building that counts in pounds and gallons is asked in them, keeps grams and millilitres, and shows them again."""

import re
from collections.abc import Callable
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.utils import translation

from bins.intake.dropoff import DropOff, record_drop_off
from bins.mixing.pails import Size
from bins.models import (
    Amendment,
    Batch,
    BrownsStock,
    BrownsStore,
    Bucket,
    Contribution,
    Harvest,
    Movement,
    Pail,
    PailWeighing,
    Place,
    SiteLimit,
    WrongItem,
)  # fmt: skip
from bins.money.cash import Cash, record_money
from bins.records import Reader, Refused, as_mapping
from bins.units import G_PER_LB, ML_PER_FL_OZ, ML_PER_GALLON
from coordinator.pages.amounts import (
    per_hundred,
    small_weight,
    typed_cup,
    typed_litres,
    typed_volume,
    typed_weight,
)
from households.models import Building, Household, Site
from households.tenancy import inside
from tests.bins.care.caring import batch_in, put_in
from tests.cast import NOW, Cast
from tests.coordinator.test_care_pages import as_, at, words
from tests.filled import give_token, go_outside

pytestmark = pytest.mark.embedded

LB_5_3 = 2404  # 5.3 lb of 453.59237 g
GAL_5_3 = 20063  # 5.3 US gallons of 3785.411784 mL
OZ_5_3 = 157  # 5.3 US fluid ounces of 29.5735... mL
US, METRIC = Building(units="us"), Building(units="metric")


@pytest.fixture
def american(cast: Cast) -> Cast:
    with inside(cast.building.uid) as here:
        here.units = Building.Units.US
        here.save()
    go_outside()
    return cast


def reader(value: str, units: str = "us") -> Reader:
    return Reader({"amount": value, "units": units})


def test_the_factors_are_the_exact_ones() -> None:
    # NIST Handbook 44, appendix C: the pound, the gallon of 231 cubic inches of 2.54 cm, 128 ounces to it.
    assert G_PER_LB == 453.59237
    assert pytest.approx(231 * 2.54**3, abs=1e-9) == ML_PER_GALLON
    assert pytest.approx(29.5735295625) == ML_PER_FL_OZ


def test_the_same_number_means_pounds_or_kilograms_as_the_form_says() -> None:
    assert (reader("5.3").grams("amount", 10_000), reader("5,3").grams("amount", 10_000)) == (LB_5_3, LB_5_3)
    assert reader("5.3", "").grams("amount", 10_000) == 5300
    assert (reader("5.3").millilitres("amount", 10**6), reader("5.3", "").millilitres("amount", 10**6)) == (
        GAL_5_3, 5300,
    )  # fmt: skip
    assert (reader("5.3").litres("amount", 10, 5000), reader("20", "").litres("amount", 10, 5000)) == (20, 20)
    assert (reader("5.3").cup_ml("amount", 50, 5000), reader("157", "").cup_ml("amount", 50, 5000)) == (OZ_5_3, 157)


@pytest.mark.parametrize(("told", "kept"), [("220.46", 99_999), ("220.47", None), ("0", None), ("0.001", None)])
def test_the_most_is_the_same_weight_in_both(told: str, kept: int | None) -> None:
    found = reader(told)
    assert found.grams("amount", 100_000) == kept
    if kept is None:
        assert "at most 220" in found.errors["amount"]


@pytest.mark.parametrize(("told", "kept"), [("2.5", None), ("2.6", 10), ("1320.9", 5000), ("1321", None)])
def test_whole_litres_have_their_least_and_most_in_gallons(told: str, kept: int | None) -> None:
    found = reader(told)
    assert found.litres("amount", 10, 5000) == kept
    if kept is None:
        assert found.errors["amount"] == "A number from 3 to 1320 is needed."


def test_a_refusal_speaks_the_units_of_the_form() -> None:
    raw = {"uid": str(uuid4()), "name": "big", "litres": "0.1"}
    for units, word in (("us", "ten gallons"), ("", "forty litres")):
        with pytest.raises(Refused) as refused:
            Size.from_raw(raw | {"units": units}, 1000)
        assert word in refused.value.errors["litres"]


def test_what_was_typed_comes_back_as_it_was_typed() -> None:
    for hundredths in range(1, 2000):
        typed = f"{hundredths / 100:g}"
        grams = reader(typed).grams("amount", 10**6)
        assert grams is not None
        assert typed_weight(grams, US) == typed
        millilitres = reader(typed).millilitres("amount", 10**6)
        assert millilitres is not None
        assert typed_volume(millilitres, US) == typed
        assert typed_weight(10 * hundredths, METRIC) == typed
    assert (typed_litres(20, US), typed_litres(20, METRIC)) == ("5.3", "20")
    assert (typed_cup(OZ_5_3, US), typed_cup(1000, METRIC)) == ("5.3", "1000")
    with translation.override("fr"):
        assert typed_weight(LB_5_3, US) == "5,3"


# One form each: where it is, what is filled in, what the books then hold. Every field of a weight is 5.3 pounds, of
# a volume 5.3 gallons, of a cup or a wrong item 5.3 ounces.
Kept = Callable[[Building, Cast], Any]


def last(model: Any, field: str) -> Kept:
    return lambda here, _cast: getattr(model.objects.within(here).order_by("-pk").first(), field)


def a_bin(here: Building, _cast: Cast) -> int:
    return Place.objects.within(here).get(kind=Place.Kind.CURING_BIN).litres


def of_household(here: Building) -> str:
    return str(Household.objects.within(here).exclude(label="").order_by("pk")[0].uid)


FORMS: dict[str, tuple[str, str, Callable[[Cast, Building], dict[str, str]], Kept, int]] = {
    "drop-off": ("resident", "drop-off-form", lambda c, h: {"kilograms": "5.3", "drum": str(c.drum.uid)},
                 last(Contribution, "scraps_g"), LB_5_3),
    "on behalf": ("caretaker", "on-behalf", lambda c, h: {
        "via": "proxy", "uid-1": str(uuid4()), "household-1": of_household(h), "day-1": NOW.date().isoformat(),
        "kilograms-1": "5.3", "browns_cups-1": "1"}, last(Contribution, "scraps_g"), LB_5_3),
    "bucket": ("caretaker", "buckets", lambda c, h: {
        "name": "cellar", "drum": str(c.drum.uid), "litres": "5.3", "bedding_litres": "1"},
        last(Bucket, "millilitres"), GAL_5_3),
    "pail": ("caretaker", "pails", lambda c, h: {
        "name": "big", "site": str(c.drum.site.uid), "litres": "5.3"}, last(Pail, "millilitres"), GAL_5_3),
    "pail in water": ("caretaker", "pails", lambda c, h: {
        "name": "big", "site": str(c.drum.site.uid), "empty_kg": "1", "water_kg": "6.3"},
        last(Pail, "millilitres"), 2858 - 454),
    "weighing": ("caretaker", "pail-weigh", lambda c, h: {"full_kg": "6.3", "empty_kg": "1"},
                 last(PailWeighing, "net_g"), 2858 - 454),
    "browns and water": ("caretaker", "amend", lambda c, h: {
        "browns_litres": "5.3", "browns": "pellets", "water_litres": "0"}, last(Amendment, "millilitres"), GAL_5_3),
    "harvest": ("caretaker", "harvest", lambda c, h: {
        "whole_tubs": "2", "tub_litres": "5.3", "kilograms": "30", "rest": "is_empty"},
        last(Harvest, "tub_ml"), GAL_5_3),
    "harvest's weight": ("caretaker", "harvest", lambda c, h: {
        "whole_tubs": "1", "tub_litres": "2", "kilograms": "5.3", "rest": "is_empty"},
        last(Harvest, "weighed_g"), LB_5_3),
    "sharing": ("committee", "sharing", lambda c, h: {
        "site": str(c.drum.site.uid), "sharing_kind": "equal", "reserve_percent": "20", "least_drop_offs": "3",
        "tub_litres": "5.3", "unclaimed_after_days": "14", "decided_on": NOW.date().isoformat(), "why": "we said so"},
        lambda here, c: Site.objects.within(here).get(uid=c.drum.site.uid).tub_ml, GAL_5_3),
    "browns brought": ("resident", "browns-brought", lambda c, h: {
        "site": str(c.drum.site.uid), "litres": "5.3", "kind": "leaves"}, last(BrownsStock, "millilitres"), GAL_5_3),
    "browns' cup": ("caretaker", "browns-tell", lambda c, h: {
        "browns": "pellets", "cup_ml": "5.3", "without_browns": "bring"},
        lambda here, c: Site.objects.within(here).get(uid=c.drum.site.uid).cup_ml, OZ_5_3),
    "delivery": ("caretaker", "store", lambda c, h: {
        "site": str(c.drum.site.uid), "act": "delivery", "litres": "5.3", "kind": "pellets"},
        last(BrownsStock, "millilitres"), GAL_5_3),
    "store": ("caretaker", "store-keep", lambda c, h: {
        "room": "aired", "most_litres": "5.3", "delivery_weeks": "2", "review_weeks": "2", "safety_weeks": "1"},
        last(BrownsStore, "most_litres"), 20),
    "limit of scraps": ("caretaker", "limits", lambda c, h: {
        "site": str(c.drum.site.uid), "what": "scraps_year", "figure": "5.3", "source": "the town",
        "dated": "2026-05-01"}, last(SiteLimit, "figure"), 2),
    "limit of store": ("caretaker", "limits", lambda c, h: {
        "site": str(c.drum.site.uid), "what": "browns", "figure": "5.3", "source": "the town", "dated": "2026-05-01"},
        last(SiteLimit, "figure"), 20),
    "wrong item": ("caretaker", "wrong-item", lambda c, h: {"item": "plastic", "millilitres": "5.3"},
                   last(WrongItem, "millilitres"), OZ_5_3),
    "wrong item of a visit": ("caretaker", "today", lambda c, h: {
        "drum": str(c.drum.uid), "turned": "no", "wrong_item": "plastic", "wrong_millilitres": "5.3"},
        last(WrongItem, "millilitres"), OZ_5_3),
    "new bin": ("caretaker", "batch-act moves", lambda c, h: {"to": "new", "litres": "26.4"}, a_bin, 100),
    "thrown out": ("caretaker", "batch-act discards", lambda c, h: {
        "litres": "5.3", "reason": "it stank", "destination": "the bin"}, last(Movement, "millilitres"), 20_000),
}  # fmt: skip
SHOWN_AT = {"pail-weigh": "pails", "store-keep": "store", "browns-tell": "browns", "batch-act": "batch"}


def args_of(name: str, cast: Cast, here: Building) -> list[object]:
    match name.split():
        case ["pail-weigh"]:
            return [Pail.objects.within(here).get().uid]
        case ["amend"] | ["harvest"] | ["batch"]:
            return [Batch.objects.within(here).get().uid]
        case ["batch-act", act]:
            return [Batch.objects.within(here).get().uid, act]
        case ["browns-tell"] | ["store-keep"]:
            return [cast.drum.site.uid]
        case ["wrong-item"]:
            return [cast.drum.uid]
    return []


@pytest.mark.parametrize("form", FORMS)
def test_each_form_asks_in_pounds_and_gallons_and_the_books_keep_grams_and_millilitres(
    american: Cast, form: str
) -> None:
    who, name, values, kept, amount = FORMS[form]
    cast = american
    with inside(cast.building.uid) as here:
        if name in ("harvest", "batch-act moves"):
            put_in(here, batch_in(here, cast, "A"), "ready", NOW)
        address = at(cast, name.split()[0], *args_of(name, cast, here))
        shown = SHOWN_AT.get(name.split()[0], name)
        page_at = at(cast, shown, *args_of(shown, cast, here))
        sent = {"uid": str(uuid4())} | values(cast, here)
    go_outside()
    client = as_(cast.people[who])
    page = client.get(page_at)
    assert not re.search(r"kilogram|litre", re.sub(r"<[^>]+>", " ", page.content.decode()), re.I), words(page)
    forms = [
        part for part in re.findall(r"<form.*?</form>", page.content.decode(), re.S) if f'action="{address}"' in part
    ]
    units = {'name="units" value="us"' in part for part in forms if set(re.findall(r'name="(\w+)', part)) & MEASURED}
    assert units == {True}
    reply = client.post(address, sent | {"units": "us"})
    assert reply.status_code == 302, words(reply)
    with inside(cast.building.uid) as here:
        assert kept(here, cast) == amount
    go_outside()


MEASURED = {
    "kilograms", "litres", "bedding_litres", "empty_kg", "full_kg", "browns_litres", "tub_litres", "cup_ml",
    "most_litres", "figure", "millilitres", "wrong_millilitres",
}  # fmt: skip


def test_a_weight_comes_back_in_pounds_after_a_fault_and_in_the_correction(american: Cast) -> None:
    cast, resident = american, as_(american.resident)
    sent = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "kilograms": "5.3", "units": "us"}
    refused = resident.post(at(cast, "drop-off-form"), sent | {"browns_cups": "many"})
    assert refused.status_code == 422
    assert re.search(r'name="kilograms"[^>]* value="5.3"', refused.content.decode())
    done = resident.post(at(cast, "drop-off-form"), sent)
    row = UUID(done.headers["Location"].rstrip("/").split("/")[-1])
    page = resident.get(at(cast, "drop-off-correct", row)).content.decode()
    assert re.search(r'name="kilograms"[^>]* value="5.3"', page)
    assert "Or weighed: pounds" in page
    again = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "kilograms": "5.4", "units": "us"}
    assert resident.post(at(cast, "drop-off-correct", row), again).status_code == 302
    with inside(cast.building.uid) as here:
        assert [one.scraps_g for one in Contribution.objects.within(here).order_by("pk")] == [LB_5_3, -LB_5_3, 2449]
    go_outside()


def test_the_tub_and_the_cup_stand_in_their_fields_as_they_were_typed(american: Cast) -> None:
    cast = american
    with inside(cast.building.uid) as here:
        Site.objects.within(here).update(tub_ml=GAL_5_3, cup_ml=OZ_5_3)
        batch = put_in(here, batch_in(here, cast, "A"), "ready", NOW)
    go_outside()
    caretaker, committee = as_(cast.caretaker), as_(cast.committee)
    for page in (caretaker.get(at(cast, "harvest", batch.uid)), committee.get(at(cast, "sharing"))):
        assert re.search(r'name="tub_litres"[^>]* value="5.3"', page.content.decode())
    assert re.search(r'name="cup_ml"[^>]* value="5.3"', caretaker.get(at(cast, "browns")).content.decode())


def test_the_rows_behind_a_month_are_in_pounds_and_gallons(american: Cast) -> None:
    cast, resident = american, as_(american.resident)
    sent = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "kilograms": "5.3", "units": "us", "browns_cups": "2"}
    resident.post(at(cast, "drop-off-form"), sent)
    with inside(cast.building.uid) as here:
        day = here.local(Contribution.objects.within(here).get().counts_at).date()
    go_outside()
    caretaker = as_(cast.committee)
    assert "5.30 lb" in words(caretaker.get(at(cast, "month-rows", day.year, day.month, "scraps")))
    assert "0.53 gal" in words(caretaker.get(at(cast, "month-rows", day.year, day.month, "browns")))
    month = words(caretaker.get(at(cast, "month", day.year, day.month)))
    assert "5.30 lb" in month
    assert "Grams" not in month


def test_the_api_is_metric_whatever_is_sent_with_it(american: Cast) -> None:
    cast = american
    assert as_mapping({"units": "us", "lines": [{"units": "us", "a": 1}]}) == {"lines": [{"a": 1}]}
    with inside(cast.building.uid) as here:
        secret = give_token(here, cast.resident)
    go_outside()
    body = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "kilograms": 5.3, "units": "us"}
    reply = Client(headers={"authorization": f"Bearer {secret}"}).post(
        f"/api/buildings/{cast.building.uid}/drop-offs/", body, content_type="application/json"
    )
    assert reply.status_code == 201, reply.content
    with inside(cast.building.uid) as here:
        assert Contribution.objects.within(here).get().scraps_g == 5300
    go_outside()


def test_a_metric_building_is_asked_as_before(cast: Cast) -> None:
    page = as_(cast.resident).get(at(cast, "drop-off-form")).content.decode()
    assert 'name="units"' not in page
    assert "Kilograms of scraps, without the pail" in page


def test_rates_are_for_each_hundred_pounds_where_the_building_counts_in_pounds(american: Cast) -> None:
    cast = american
    with inside(cast.building.uid) as here:
        told = DropOff.from_raw({"uid": uuid4(), "drum": cast.drum.uid, "kilograms": "90.718474"})  # 200 pounds
        record_drop_off(building=here, told=told, household=cast.resident.household, person=None, via="web", now=NOW)
        cash = Cash.from_raw({"uid": uuid4(), "way": "out", "amount": "10", "purpose": "browns"}, 2)
        record_money(building=here, told=cash, names_others=False, person=None, via="web", now=NOW)
    go_outside()
    client, day = as_(cast.committee), NOW.date()
    month = words(client.get(at(cast, "month", day.year, day.month)))
    assert re.search(r"Cost for each 100 pounds\s+€5\.00", month), month
    report = words(client.get(at(cast, "report-page", "month", day.year, day.month)))
    assert re.search(r"Cost for each 100 pounds\s+€5\.00", report), report
    assert "Hours for each 100 pounds" in report
    assert not re.search(r"kilo|100 kg", month + report)


@pytest.mark.parametrize(("units", "rate", "shown"), [("us", 1000, "16.0 oz"), ("metric", 1000, "1000 g")])
def test_a_kilo_in_a_hundred_is_a_pound_in_a_hundred(units: str, rate: int, shown: str) -> None:
    here = Building(units=units)
    assert small_weight(per_hundred(rate, here), here) == shown
