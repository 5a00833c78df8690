"""What is due at the drums: turning, asked readings, tests, the tag; winter; fresh scraps; and who is told what."""

import datetime as dt
from typing import Any
from uuid import uuid4, uuid5

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from bins.care.due import DrumWork, work_due
from bins.care.maturity_tests import BeginTest, begin_test
from bins.care.quarantine import Reopening, Shutting, reopen, shut
from bins.care.winter_room import winter_room
from bins.decisions import night
from bins.decisions.gather import gather_drums
from bins.decisions.settle import confirm
from bins.decisions.site_numbers import SiteNumbers, set_numbers
from bins.intake.wrong_hatch import lately
from bins.models import Decision, Drum, Movement, Place, SiteRules, StageChange
from bins.process.asking import Wanted
from bins.records import Refused
from households.models import Audit, Building, Notice, Site
from households.quiet import due_by_day
from households.tenancy import inside
from tests.bins.care.caring import DAY, batch_in, by, close, fresh, hang_tag, hatch, pail, put_in, visit
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded

JANUARY = dt.datetime(2027, 1, 11, 9, 0, tzinfo=dt.UTC)


def work(cast: Cast, here: Building, now: dt.datetime) -> DrumWork:
    return work_due(here, now)[cast.drum.uid]


def ask(here: Building, at: dt.datetime) -> list[Decision]:
    """The night of `at`, and what waits for an answer after it."""
    night.apply(here, night.decide(night.gather(here, at)), at, uuid5(here.uid, f"night {at}"))
    return list(Decision.objects.within(here).proposed())


@pytest.mark.parametrize(("days", "due"), [(2, False), (3, True)])
def test_an_open_drum_is_turned_every_third_day(cast: Cast, days: int, due: bool) -> None:
    with inside(cast.building.uid) as here:
        assert work(cast, here, NOW + days * DAY).turning_due is due  # never turned: from its first day
        visit(cast, here, NOW + 10 * DAY)
        later = work(cast, here, NOW + (10 + days) * DAY)
        assert (later.turning_due, later.turned_days_ago) == (due, days)


def test_what_is_due_next_is_the_turn_or_the_test_whichever_is_sooner(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        day = here.local(NOW).date()
        assert work(cast, here, NOW).next_on == day + 3 * DAY
        assert work(cast, here, NOW + 2 * DAY).next_on == day + 3 * DAY
        assert work(cast, here, NOW + 3 * DAY).next_on is None, "it is due, so nothing is ahead"
        batch = batch_in(here, cast, "A")
        put_in(here, batch, "curing", NOW)
        begin_test(told=BeginTest(uuid4(), batch.uid, "flask", None), **by(cast, here, NOW))
        assert work(cast, here, NOW).next_on == day + 5 * DAY, "a flask after five days, a turn after seven"
        assert work(cast, here, NOW + 5 * DAY).next_on == day + 7 * DAY


@pytest.mark.parametrize(("days", "due"), [(6, False), (7, True)])
def test_a_drum_that_takes_nothing_is_turned_weekly(cast: Cast, days: int, due: bool) -> None:
    with inside(cast.building.uid) as here:
        put_in(here, batch_in(here, cast, "A"), "composting", NOW)
        visit(cast, here, NOW)
        assert work(cast, here, NOW + days * DAY).turning_due is due


def test_a_residents_turns_count_like_anybodys(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        visit(cast, here, NOW + 4 * DAY)
        assert work(cast, here, NOW + 5 * DAY).turning_due is False


def test_a_frozen_drum_has_no_turn_that_is_due_and_none_that_was_missed(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        visit(cast, here, JANUARY, turned="no", readings=[{"batch": str(batch.uid), "temperature": "0"}])
        assert work(cast, here, JANUARY + DAY).turning_due is False
        visit(cast, here, JANUARY + 2 * DAY, turned="no", readings=[{"batch": str(batch.uid), "temperature": "0,1"}])
        assert work(cast, here, JANUARY + 2 * DAY).turning_due is True


def test_a_site_may_turn_more_seldom(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        told = SiteNumbers.from_raw({"turn_open_days": "5"})
        set_numbers(building=here, site_uid=cast.drum.site.uid, told=told, person=cast.caretaker, now=NOW)
        assert work(cast, here, NOW + 4 * DAY).turning_due is False
        assert work(cast, here, NOW + 5 * DAY).turning_due is True
        assert Audit.objects.within(here).filter(act="site-rules-set").exists()


def test_a_squeeze_is_asked_for_a_week_before_it_decides(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = put_in(here, batch_in(here, cast, "A"), "composting", NOW)
        assert work(cast, here, NOW + 48 * DAY).asked == ()
        assert work(cast, here, NOW + 49 * DAY).asked == ((batch, Wanted.SQUEEZE),)
        visit(cast, here, NOW + 49 * DAY, readings=[{"batch": str(batch.uid), "squeeze": "right", "smell": "yes"}])
        assert work(cast, here, NOW + 50 * DAY).asked == ((batch, Wanted.SMELL),)


def test_a_test_is_asked_for_until_one_is_on_its_way_and_the_bag_is_due_after_seven_days(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = put_in(here, put_in(here, batch_in(here, cast, "A"), "composting", NOW), "curing", NOW)
        assert work(cast, here, NOW + 8 * DAY).asked == ((batch, Wanted.MATURITY_TEST),)
        told = BeginTest.from_raw({"uid": uuid4(), "batch": batch.uid, "kind": "bag"})
        begin_test(told=told, **by(cast, here, NOW + 8 * DAY))
        assert work(cast, here, NOW + 9 * DAY).asked == ()
        early, ripe = work(cast, here, NOW + 15 * DAY - dt.timedelta(seconds=1)), work(cast, here, NOW + 15 * DAY)
        assert [one.is_due for one in (*early.running, *ripe.running)] == [False, True]


def test_where_nothing_is_open_an_empty_hatch_waits_for_the_tag(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert work(cast, here, NOW).to_open == ()
        put_in(here, batch_in(here, cast, "A"), "composting", NOW)
        assert work(cast, here, NOW).to_open == (hatch(here, cast, "B"),)


def test_what_is_due_takes_the_same_queries_for_three_drums_as_for_one(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        with CaptureQueriesContext(connection) as few:
            work_due(here, NOW)
        for number in (2, 3):
            drum = Drum.objects.create(building=here, site=cast.drum.site, number=number)
            for letter, shape in (("A", "circle"), ("B", "square")):
                Place.objects.create(
                    building=here, kind="chamber", site=drum.site, drum=drum, letter=letter, shape=shape, litres=100
                )
            hang_tag(cast, here, Place.objects.within(here).get(drum=drum, letter="A"))
        with CaptureQueriesContext(connection) as many:
            work_due(here, NOW)
        assert len(few) == len(many)


# Winter ---------------------------------------------------------------------------------------------


def winter(cast: Cast, here: Building, first: str, spring: str) -> None:
    told = SiteNumbers.from_raw({"winter_first": first, "spring_first": spring})
    set_numbers(building=here, site_uid=cast.drum.site.uid, told=told, person=cast.caretaker, now=NOW)


def test_room_is_counted_in_pails_until_the_first_day_of_spring(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        winter(cast, here, "11-15", "04-01")
        drum = Drum.objects.within(here).select_related("site__rules").get(uid=cast.drum.uid)
        visit(cast, here, JANUARY, level="half")
        room = winter_room(here, drum, JANUARY)
        # 25 of 100 L in the open hatch and 75 of 100 L in the empty one, 8 L of scraps and 2 L of browns a pail.
        assert (room.pails, room.until) == (10, dt.date(2027, 4, 1))
        assert work(cast, here, JANUARY).room == room


@pytest.mark.parametrize(
    ("at", "has_room"),
    [("2026-11-14T12:00", False), ("2026-11-15T12:00", True), ("2027-03-31T12:00", True), ("2027-04-01T12:00", False)],
)
def test_winter_is_from_its_first_day_to_the_day_before_spring(cast: Cast, at: str, has_room: bool) -> None:
    with inside(cast.building.uid) as here:
        winter(cast, here, "11-15", "04-01")
        drum = Drum.objects.within(here).select_related("site__rules").get(uid=cast.drum.uid)
        assert (winter_room(here, drum, dt.datetime.fromisoformat(f"{at}+00:00")) is not None) is has_room


def test_indoors_there_is_no_winter(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        winter(cast, here, "11-15", "04-01")
        Site.objects.within(here).update(air="indoors")
        drum = Drum.objects.within(here).select_related("site__rules").get(uid=cast.drum.uid)
        assert winter_room(here, drum, JANUARY) is None


@pytest.mark.parametrize(
    ("raw", "fault"),
    [
        ({"winter_first": "11-31", "spring_first": "04-01"}, "winter_first"),
        ({"winter_first": "02-29", "spring_first": "04-01"}, "winter_first"),
        ({"winter_first": "11-15"}, "spring_first"),
        ({"close_mark_percent": "49"}, "close_mark_percent"),
        ({"turn_open_days": "0"}, "turn_open_days"),
    ],
)
def test_numbers_that_make_no_sense_are_refused(raw: dict[str, str], fault: str) -> None:
    with pytest.raises(Refused) as refused:
        SiteNumbers.from_raw(raw)
    assert set(refused.value.errors) == {fault}


# Fresh scraps past filling ---------------------------------------------------------------------------


def closed_with_scraps(cast: Cast, here: Building, stage: str, quarters: int = 4) -> Any:
    """The lot in A at a stage for a day, and fresh scraps in it on the day after."""
    batch = put_in(here, batch_in(here, cast, "A"), "composting", NOW)
    if stage != "composting":
        put_in(here, batch, "curing", NOW + DAY)
    if stage == "ready":
        put_in(here, batch, "ready", NOW + 2 * DAY)
    pail(cast, here, NOW + 3 * DAY, place=hatch(here, cast, "A").uid, quarter_pails=quarters)
    return batch


def of_rule_7(here: Building, at: dt.datetime) -> Decision:
    return next(one for one in ask(here, at) if one.rule == "7-fresh-scraps")


def test_more_than_a_little_while_it_works_starts_its_days_again_from_the_last_scraps(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = closed_with_scraps(cast, here, "composting")
        asked = of_rule_7(here, NOW + 4 * DAY)
        assert asked.reason == "fresh_too_much"
        confirm(uid=asked.uid, **by(cast, here, NOW + 5 * DAY))
        ((_, (drum,)),) = gather_drums(here, NOW + 5 * DAY)
        assert (fresh(batch).stage, drum.batches[0].composting_since) == ("composting", NOW + 3 * DAY)
        assert StageChange.objects.within(here).get(cause="fresh").decision == asked
        assert not [one for one in ask(here, NOW + 6 * DAY) if one.rule == "7-fresh-scraps"]


def test_any_while_it_rests_sends_it_back_to_work(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = closed_with_scraps(cast, here, "curing", 1)
        confirm(uid=of_rule_7(here, NOW + 4 * DAY).uid, **by(cast, here, NOW + 5 * DAY))
        ((_, (drum,)),) = gather_drums(here, NOW + 5 * DAY)
        assert (fresh(batch).stage, drum.batches[0].composting_since) == ("composting", NOW + 3 * DAY)


def test_in_a_finished_lot_the_caretaker_says_which_of_two_ways(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = closed_with_scraps(cast, here, "ready")
        asked = of_rule_7(here, NOW + 4 * DAY)
        with pytest.raises(Refused):
            confirm(uid=asked.uid, **by(cast, here, NOW + 5 * DAY))
        settled = confirm(uid=asked.uid, choice="take_out", **by(cast, here, NOW + 5 * DAY))
        assert (settled.is_applied, fresh(batch).stage) == (True, "ready")
        assert Movement.objects.within(here).get().millilitres == 8000
        assert not [one for one in ask(here, NOW + 20 * DAY) if one.rule == "7-fresh-scraps"]


def test_or_it_works_again_from_the_day_they_came(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = closed_with_scraps(cast, here, "ready")
        confirm(uid=of_rule_7(here, NOW + 4 * DAY).uid, choice="back", **by(cast, here, NOW + 5 * DAY))
        ((_, (drum,)),) = gather_drums(here, NOW + 5 * DAY)
        assert (fresh(batch).stage, drum.batches[0].composting_since) == ("composting", NOW + 3 * DAY)


def test_a_wrong_hatch_is_on_the_list_for_a_week_without_a_household(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        closed_with_scraps(cast, here, "composting")
        (row,) = lately(here, NOW + 10 * DAY - dt.timedelta(seconds=1))
        assert row.place == hatch(here, cast, "A")
        assert lately(here, NOW + 10 * DAY) == []


def test_a_missed_night_leaves_alone_what_a_person_has_moved_on_since(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        batch = batch_in(here, cast, "A")
        visit(cast, here, NOW, level="full")
        visit(cast, here, NOW + DAY, level="full")
        gathered = night.gather(here, NOW + 2 * DAY)
        close(cast, here, batch, NOW + 3 * DAY)
        again = night.gather(here, NOW + 2 * DAY)
        assert night.decide(gathered) == night.decide(again) != ()
        night.apply(here, night.decide(again), NOW + 2 * DAY, uuid4())
        assert not Decision.objects.within(here).proposed().exists()


# Who is told ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("local", "due"),
    [
        ("2026-05-04T06:59:59", "2026-05-04T07:00:00"),
        ("2026-05-04T07:00:00", "2026-05-04T07:00:00"),
        ("2026-05-04T20:59:59", "2026-05-04T20:59:59"),
        ("2026-05-04T21:00:00", "2026-05-05T07:00:00"),
        # The night in March when the clocks go forward, and the one in October when they go back.
        ("2026-03-28T22:00:00", "2026-03-29T07:00:00"),
        ("2026-10-24T22:00:00", "2026-10-25T07:00:00"),
    ],
)
def test_people_are_written_to_by_day_on_the_buildings_own_clock(local: str, due: str) -> None:
    building = Building(time_zone="Europe/Berlin")
    now = dt.datetime.fromisoformat(local).replace(tzinfo=building.zone).astimezone(dt.UTC)
    told = due_by_day(building, now)
    assert building.local(told).replace(tzinfo=None) == dt.datetime.fromisoformat(due)


def fill_both(cast: Cast, here: Building, now: dt.datetime) -> None:
    put_in(here, batch_in(here, cast, "A"), "composting", now)
    hang_tag(cast, here, hatch(here, cast, "B"), now)
    close(cast, here, batch_in(here, cast, "B"), now)


def test_residents_are_told_once_that_a_site_is_full_with_the_way_out_and_once_that_it_opened(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        fill_both(cast, here, NOW)
        sent = Notice.objects.filter(building=here).order_by("pk")
        assert {notice.to for notice in sent} == {"imani@quince-court.invalid", "sorin@quince-court.invalid"}
        assert all("the brown bin by the gate" in notice.body for notice in sent)
        Notice.objects.filter(building=here).update(sent_at=NOW, body="")
        batch = batch_in(here, cast, "A")
        put_in(here, batch, "discarded", NOW + DAY)
        hang_tag(cast, here, hatch(here, cast, "A"), NOW + DAY)
        told = [notice.kind.split(":")[0] for notice in Notice.objects.filter(building=here)]
        assert sorted(told) == ["full", "full", "open", "open"]
        assert SiteRules.objects.within(here).get().is_told_full is False


def test_the_same_news_at_the_same_number_of_the_books_is_the_same_letters(cast: Cast) -> None:
    """A job that runs again writes what it wrote, under the same uids, and so posts nothing twice."""
    told: list[set[Any]] = []
    for _run in range(2):
        with inside(cast.building.uid) as here, transaction.atomic():
            shut(told=Shutting(uuid5(here.uid, "shut"), hatch(here, cast, "A").uid, "a rat"), **by(cast, here, NOW))
            told.append(set(Notice.objects.filter(building=here).values_list("uid", flat=True)))
            transaction.set_rollback(True)
    assert told[0] == told[1]
    assert len(told[0]) == 2


def test_news_that_turned_round_before_morning_is_taken_back(cast: Cast) -> None:
    late = dt.datetime(2026, 5, 4, 20, 0, tzinfo=dt.UTC)  # ten in the evening in Berlin
    with inside(cast.building.uid) as here:
        place = hatch(here, cast, "A")
        shut(told=Shutting(uuid4(), place.uid, "a rat"), **by(cast, here, late))
        waiting = Notice.objects.filter(building=here)
        assert {notice.created_at for notice in waiting} == {dt.datetime(2026, 5, 5, 5, 0, tzinfo=dt.UTC)}
        reopen(told=Reopening(uuid4(), place.uid), **by(cast, here, late + dt.timedelta(hours=1)))
        assert not Notice.objects.filter(building=here).exists()
