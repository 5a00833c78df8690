"""Wrong items: written down without a name, told of once when they go on, and shut away when dangerous."""

import datetime as dt
from uuid import uuid4

import pytest

from bins.care.visit import CareVisit, record_visit
from bins.intake.wrong_items import MESSAGE, Found, Recorded, record_wrong_item
from bins.models import Place, PlaceChange, Visit, WrongItem
from bins.records import Refused
from households.ledger import UidReused
from households.models import Job, Notice
from households.tenancy import inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded
DAY = dt.timedelta(days=1)


def visit(cast: Cast, day: int, *items: str, at: dt.datetime = NOW) -> Visit:
    """A visit on a day after `at`, and what was found on it."""
    now = at + day * DAY
    with inside(cast.building.uid) as here:
        told = CareVisit.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": "yes"})
        row = record_visit(building=here, told=told, person=cast.caretaker, via="web", now=now).row
    for item in items:
        find(cast, item, now, visit=str(row.uid))
    return row


def find(cast: Cast, item: str, now: dt.datetime = NOW, **raw: object) -> Recorded:
    with inside(cast.building.uid) as here:
        told = Found.from_raw({"uid": str(uuid4()), "drum": str(cast.drum.uid), "item": item} | raw)
        return record_wrong_item(building=here, told=told, person=cast.caretaker, via="web", now=now)


def sent(cast: Cast) -> list[Notice]:
    with inside(cast.building.uid) as here:
        return list(Notice.objects.filter(building=here, kind=MESSAGE).order_by("pk"))


def test_what_how_much_and_whether_it_is_out_are_kept(cast: Cast) -> None:
    row = find(cast, "bags", millilitres="750", taken_out="yes").row
    assert (row.item, row.millilitres, row.grams, row.taken_out, row.place.letter) == ("bags", 750, None, True, "A")
    assert row.batch is not None
    assert row.batch.stage == "filling"


def test_it_arrives_once(cast: Cast) -> None:
    raw = {"uid": str(uuid4())}
    assert [find(cast, "bags", **raw).is_new, find(cast, "bags", **raw).is_new] == [True, False]
    with pytest.raises(UidReused):
        find(cast, "metal", **raw)


def test_two_visits_running_tell_nobody_and_the_third_tells_every_resident_with_an_account_once(cast: Cast) -> None:
    visit(cast, 0, "bags")
    visit(cast, 3, "bags")
    assert sent(cast) == []
    visit(cast, 6, "bags", "metal")
    addresses = {"imani@quince-court.invalid", "sorin@quince-court.invalid"}
    assert {notice.to for notice in sent(cast)} == addresses
    for text in (notice.subject + notice.body for notice in sent(cast)):
        assert not any(name in text for name in ("Imani", "Sorin", "Flat", "Ottilie"))
    visit(cast, 9, "bags")
    visit(cast, 12, "bags")
    assert len(sent(cast)) == 2


def test_a_visit_without_it_between_starts_the_count_anew(cast: Cast) -> None:
    visit(cast, 0, "bags")
    visit(cast, 3, "bags")
    visit(cast, 6, "metal")
    visit(cast, 9, "bags")
    visit(cast, 12, "bags")
    assert sent(cast) == []
    visit(cast, 15, "bags")
    assert len(sent(cast)) == 2
    visit(cast, 18)
    for day in (21, 24, 27):
        visit(cast, day, "bags")
    assert len(sent(cast)) == 4


def test_what_is_found_between_visits_is_no_visit(cast: Cast) -> None:
    for day in range(4):
        find(cast, "bags", NOW + day * DAY)
    assert sent(cast) == []


@pytest.mark.parametrize(
    ("third", "due"),
    [
        (dt.datetime(2026, 5, 10, 4, 59, tzinfo=dt.UTC), dt.datetime(2026, 5, 10, 5, 0, tzinfo=dt.UTC)),  # 06:59 there
        (dt.datetime(2026, 5, 10, 5, 0, tzinfo=dt.UTC), dt.datetime(2026, 5, 10, 5, 0, tzinfo=dt.UTC)),
        (dt.datetime(2026, 5, 10, 18, 59, tzinfo=dt.UTC), dt.datetime(2026, 5, 10, 18, 59, tzinfo=dt.UTC)),
        (dt.datetime(2026, 5, 10, 19, 0, tzinfo=dt.UTC), dt.datetime(2026, 5, 11, 5, 0, tzinfo=dt.UTC)),  # 21:00 there
    ],
)
def test_the_message_goes_out_by_day(cast: Cast, third: dt.datetime, due: dt.datetime) -> None:
    visit(cast, 0, "bags")
    visit(cast, 1, "bags")
    visit(cast, 0, "bags", at=third)
    notice = sent(cast)[0]
    with inside(cast.building.uid):
        assert Job.objects.get(name="deliver", key=str(notice.uid)).wake_at == due


@pytest.mark.parametrize("item", ["glass", "needle", "battery", "chemicals", "warm_ash"])
def test_a_dangerous_thing_shuts_the_hatch_at_once(cast: Cast, item: str) -> None:
    assert find(cast, item, hatch="A").is_dangerous
    with inside(cast.building.uid) as here:
        assert Place.objects.within(here).get(letter="A").is_quarantined
        assert not Place.objects.within(here).get(letter="B").is_quarantined
        change = PlaceChange.objects.within(here).get()
    assert (change.is_shut, change.attribution.person) == (True, cast.caretaker)


def test_a_second_one_finds_it_shut_already(cast: Cast) -> None:
    find(cast, "glass", hatch="A")
    find(cast, "battery", hatch="A")
    with inside(cast.building.uid) as here:
        assert (PlaceChange.objects.within(here).count(), WrongItem.objects.within(here).count()) == (1, 2)


def test_an_ordinary_one_shuts_nothing(cast: Cast) -> None:
    assert not find(cast, "plastic").is_dangerous
    with inside(cast.building.uid) as here:
        assert not Place.objects.within(here).filter(is_quarantined=True).exists()


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"item": "dragon"}, "item"),
        ({"hatch": "C"}, "hatch"),
        ({"millilitres": 0}, "millilitres"),
        ({"drum": str(uuid4())}, "drum"),
        ({"visit": str(uuid4())}, "visit"),
    ],
)
def test_what_cannot_be_is_refused(cast: Cast, raw: dict[str, object], field: str) -> None:
    with pytest.raises(Refused) as refused:
        find(cast, **{"item": "bags"} | raw)
    assert set(refused.value.errors) == {field}
    with inside(cast.building.uid) as here:
        assert not WrongItem.objects.within(here).exists()
