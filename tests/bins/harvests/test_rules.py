"""The other rules of a split, with a least and a most; and who gives, who moves out, and who is not known."""

import datetime as dt
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.care.visit import CareVisit, record_visit
from bins.harvests.balance import Balance, balance
from bins.harvests.handout import hand_out
from bins.harvests.outgoing import Gift, record_gift, undo
from bins.harvests.requests import Asked, ask, askable
from bins.harvests.share_words import sentence
from bins.harvests.sharing import preview, restate
from bins.harvests.split_figures import split_figures
from bins.harvests.took_part import claimants, credits
from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Batch, Harvest, Outgoing, Share, ShareRequest
from bins.people.moving_out import Leaving, move_out
from bins.records import Refused
from households.giving import Wish, choose_gift
from households.ledger import UidReused
from households.models import Building, Duty, DutyAssignment, DutyKind, Household, Person, RotaPlan, Site
from households.tenancy import inside
from tests.bins.harvests.harvested import (
    DAY,
    OUT,
    TUB,
    bring,
    fetch,
    lose,
    lot,
    resident,
    rule,
    share_out,
    shares_of,
    take_out,
)
from tests.cast import NOW, Cast
from tests.filled import draft

pytestmark = pytest.mark.embedded


def home(person: Person) -> Household:
    assert person.household is not None
    return person.household


def visit(here: Building, cast: Cast, person: Person, at: dt.datetime) -> None:
    raw = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": "yes"}
    record_visit(building=here, told=CareVisit.from_raw(raw), person=person, via="web", now=at)


def duty(here: Building, site: Site, person: Person, day: dt.date, minutes: int, *, done: bool = True) -> None:
    kind = draft(DutyKind, here)
    kind.site, kind.work, kind.minutes = site, "trays", minutes
    kind.save()
    plan = draft(RotaPlan, here)
    plan.save()
    planned = Duty.objects.create(
        building=here, kind=kind, plan=plan, day=day, least=1, usual=1, minutes=minutes, is_heavy=False,
        done_at=here.instant(day, dt.time(18)) if done else None,
    )  # fmt: skip
    DutyAssignment.objects.create(building=here, duty=planned, number=1, household=home(person))


def tubs(here: Building, harvest: Harvest, names: str) -> list[int]:
    shares = shares_of(here, share_out(here, harvest))
    return [shares[name].tubs if name in shares else 0 for name in names]


# By care work


def test_by_care_work_set_minutes_of_visits_and_duties_decide(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="care", reserve_percent=0, ceiling_percent=None, minutes_a_visit=15)
        people = {name: resident(here, name) for name in "ABCD"}
        for n in range(4):  # A: four visits, an hour
            visit(here, cast, people["A"], NOW + (n + 1) * DAY)
        site = Site.objects.within(here).get()
        duty(here, site, people["B"], (NOW + 3 * DAY).date(), 30)
        visit(here, cast, people["B"], NOW + 3 * DAY)  # part of that duty
        duty(here, site, people["C"], (NOW + 4 * DAY).date(), 30, done=False)
        bring(here, cast.drum, people["D"], 9)  # scraps are not care
        assert tubs(here, take_out(here, lot(here, cast.drum), 9), "ABCD") == [6, 3, 0, 0]


def test_care_before_the_lot_or_after_it_is_care_of_another(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="care", reserve_percent=0)
        people = {name: resident(here, name) for name in "ABCD"}
        site = Site.objects.within(here).get()
        duty(here, site, people["A"], (NOW - DAY).date(), 30)
        duty(here, site, people["B"], NOW.date(), 30)
        harvest = take_out(here, lot(here, cast.drum), 4)
        duty(here, site, people["C"], OUT.date(), 30)
        duty(here, site, people["D"], (OUT + DAY).date(), 30)
        assert tubs(here, harvest, "ABCD") == [0, 2, 2, 0]


def test_a_duty_is_taking_part_in_equal_shares(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        person = resident(here, "A")
        duty(here, Site.objects.within(here).get(), person, (NOW + DAY).date(), 20)
        assert tubs(here, take_out(here, lot(here, cast.drum), 10), "A") == [8]


# On request


def ask_for(here: Building, person: Person, batch: Batch, number: int, now: dt.datetime = OUT) -> ShareRequest:
    told = Asked.from_raw({"uid": str(uuid4()), "batch": str(batch.uid), "tubs": str(number)})
    return ask(building=here, household=home(person), told=told, person=person, via="web", now=now).row


@pytest.mark.parametrize(
    ("harvested", "asked", "got"),
    [
        # S6: constrained equal awards, claims 4 and 8, estate 6
        (6, {"A": 4, "B": 8}, [3, 3]),
        (20, {"A": 4, "B": 8}, [4, 8]),  # below what falls to each: the rest is for the beds
        (9, {"A": 2, "B": 8, "C": 0}, [2, 7, 0]),
        (9, {"A": 2}, [2, 0, 0]),  # who says nothing gets none
    ],
)
def test_on_request_those_who_took_part_get_what_they_asked_for_as_far_as_it_reaches(
    cast: Cast, harvested: int, asked: dict[str, int], got: list[int]
) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="request", reserve_percent=0)
        people = {name: resident(here, name) for name in "ABC"}
        for person in people.values():
            bring(here, cast.drum, person)
        stranger = resident(here, "Z")
        batch = lot(here, cast.drum)
        ask_for(here, stranger, batch, 9)  # brought nothing
        ask_for(here, people["A"], batch, 50)
        for name, number in asked.items():
            ask_for(here, people[name], batch, number, OUT + DAY)  # the newest word counts
        harvest = take_out(here, batch, harvested, now=OUT + DAY)
        shares = shares_of(here, share_out(here, harvest, OUT + DAY))
        assert [shares[name].tubs for name in "ABC"[: len(got)]] == got
        assert balance(here, harvest).reserve == (harvested - sum(got)) * TUB
        assert restate(here, harvest.split).moved_tubs == 0


def test_s8_requests_by_weight_that_are_all_served_leave_the_rest_to_the_beds(cast: Cast) -> None:
    # S8, D: weights 120, 90, 60, 30; requests 10, 5, 8, 2; 40 tubs: all served, 15 to the garden.
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="request", requests_by_weight=True, reserve_percent=0)
        batch = lot(here, cast.drum)
        for name, grams, number in (("A", 12_000, 10), ("B", 9000, 5), ("C", 6000, 8), ("D", 3000, 2)):
            person = resident(here, name)
            bring(here, cast.drum, person, 1, grams)
            ask_for(here, person, batch, number)
        harvest = take_out(here, batch, 40)
        assert tubs(here, harvest, "ABCD") == [10, 5, 8, 2]
        assert balance(here, harvest) == Balance(40 * TUB, reserve=15 * TUB)


def test_requests_by_weight_above_what_is_due_are_cut_in_proportion(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="request", requests_by_weight=True, reserve_percent=0)
        batch = lot(here, cast.drum)
        for name, grams, number in (("A", 6000, 20), ("B", 3000, 20), ("C", 1000, 1)):
            person = resident(here, name)
            bring(here, cast.drum, person, 1, grams)
            ask_for(here, person, batch, number)
        # 10 by 6, 3, 1: all ask for at least what is due; nothing is over.
        assert tubs(here, take_out(here, batch, 10), "ABC") == [6, 3, 1]


def test_only_lots_by_request_can_be_asked_for_and_until_they_are_shared_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        person, batch = resident(here, "A"), lot(here, cast.drum)
        with pytest.raises(Refused, match="another rule"):
            ask_for(here, person, batch, 3)
        rule(here, sharing_kind="request")
        assert [(one.batch, one.tubs) for one in askable(here, home(person))] == [(batch, None)]
        row = ask_for(here, person, batch, 3)
        assert [one.tubs for one in askable(here, home(person))] == [3]
        again = Asked(row.uid, batch.uid, 3)
        assert not ask(building=here, household=home(person), told=again, person=person, via="web", now=OUT).is_new
        other = Asked(row.uid, batch.uid, 4)
        with pytest.raises(UidReused):
            ask(building=here, household=home(person), told=other, person=person, via="web", now=OUT)
        share_out(here, take_out(here, batch, 4))
        assert askable(here, home(person)) == ()
        with pytest.raises(Refused):
            ask_for(here, person, batch, 2)


def test_a_lot_of_another_building_cannot_be_asked_for(cast: Cast) -> None:
    with inside(cast.elsewhere.uid) as there:
        theirs = lot(there, cast.elsewhere_drum)
    with inside(cast.building.uid) as here, pytest.raises(Batch.DoesNotExist):
        ask_for(here, cast.resident, theirs, 1)


@pytest.mark.parametrize("raw", ["", "-1", "101", "2.5", "many"])
def test_a_request_is_a_whole_number_of_tubs_up_to_a_hundred(raw: str) -> None:
    with pytest.raises(Refused) as refused:
        Asked.from_raw({"uid": str(uuid4()), "batch": str(uuid4()), "tubs": raw})
    assert set(refused.value.errors) == {"tubs"}


def test_asking_takes_as_many_queries_for_many_lots_as_for_few(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="request")
        person, batch = resident(here, "A"), lot(here, cast.drum)
        ask_for(here, person, batch, 3)

        def queries() -> int:
            with CaptureQueriesContext(connection) as seen:
                askable(here, home(person))
            return len(seen)

        few = queries()
        for number in range(5):
            Batch.objects.create(
                building=here, drum=cast.drum, started_in=batch.started_in, stage="harvested", opened_at=NOW,
                closed_at=NOW, ended_at=OUT + number * DAY, **batch.terms,
            )  # fmt: skip
        assert (queries(), len(askable(here, home(person)))) == (few, 6)


# A least and a most


def test_a_least_and_a_most_for_each_household_and_what_is_owed_beyond_it_is_carried(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        rule(
            here, sharing_kind="contribution", reserve_percent=0, ceiling_percent=None, least_tubs=2, most_tubs=5
        )  # fmt: skip
        for name, grams in (("A", 18_000), ("B", 1000), ("C", 1000)):
            bring(here, cast.drum, resident(here, name), 1, grams)
        # 18, 1, 1 of 20 would be 9, .5, .5 of 10: five for the big kitchen, the small ones share the rest.
        shares = shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 10)))
        assert [shares[name].due_millionths for name in "ABC"] == [5 * TUB, 2_500_000, 2_500_000]
        assert sum(share.tubs for share in shares.values()) == 10
        assert max(share.tubs for share in shares.values()) == 5


# Giving away


def give(here: Building, person: Person, share: Share, millionths: int | None, to: str = "neighbours") -> Outgoing:
    told = Gift(uuid4(), share.uid, to, millionths)
    return record_gift(building=here, household=home(person), told=told, person=person, via="web", now=OUT).row


def test_a_share_given_to_the_neighbours_is_divided_among_them(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = {name: resident(here, name) for name in "ABCD"}
        for person in people.values():
            bring(here, cast.drum, person)
        for _ in range(2):
            choose_gift(building=here, household=home(people["A"]), wish=Wish.NEIGHBOURS, by=people["A"], now=NOW)
        harvest = take_out(here, lot(here, cast.drum), 15)
        split = share_out(here, harvest)
        shares = shares_of(here, split)
        # 12 for three, where it would have been 3 each.
        assert [shares[name].tubs for name in "ABCD"] == [0, 4, 4, 4]
        assert (split.given_up_tubs, shares["A"].to_neighbours, shares["A"].to_garden) == (0, True, False)
        assert sentence(shares["A"]) == "Your share goes to your neighbours, as you chose."
        assert split_figures(here, harvest, OUT.date()).groups.households == 3


def test_tubs_of_a_share_are_given_away_and_never_more_than_it_has_left(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = {name: resident(here, name) for name in "AB"}
        for person in people.values():
            bring(here, cast.drum, person)
        harvest = take_out(here, lot(here, cast.drum), 10)
        shares = shares_of(here, share_out(here, harvest))
        fetch(here, shares["A"], 1)
        with pytest.raises(Refused, match="tubs"):
            give(here, people["A"], shares["A"], 3 * TUB + 1000)
        first = give(here, people["A"], shares["A"], TUB)
        give(here, people["A"], shares["A"], None, "garden")  # the other two
        with pytest.raises(Refused, match="given it away"):
            fetch(here, shares["A"], 1)
        with pytest.raises(Refused):
            give(here, people["A"], shares["A"], None)
        assert balance(here, harvest) == Balance(10 * TUB, given=TUB, reserve=2 * TUB, gift=3 * TUB)
        assert balance(here, harvest).waiting == 4 * TUB
        line = next(line for line in hand_out(here, harvest.split) if line.share == shares["A"])
        assert (line.given, line.gift, line.left) == (TUB, 3 * TUB, 0)
        lose(here, harvest, 4 * TUB)  # nothing waits any more
        site = Site.objects.within(here).get()
        # What A gave away is not owed to it again; what B lost is.
        assert credits(here, site) == {home(people["A"]).uid: 0, home(people["B"]).uid: 4 * TUB}
        back = undo(building=here, uid=first.uid, person=None, via="web", now=OUT)
        assert (back.kind, back.gift_to, back.millionths) == ("gift", "neighbours", -TUB)
        assert balance(here, harvest).gift == 2 * TUB


def test_nobody_gives_away_what_is_anothers(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = {name: resident(here, name) for name in "AB"}
        for person in people.values():
            bring(here, cast.drum, person)
        shares = shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 10)))
        with pytest.raises(Share.DoesNotExist):
            give(here, people["B"], shares["A"], TUB)


def test_a_gift_is_for_the_beds_or_for_neighbours() -> None:
    with pytest.raises(Refused) as refused:
        Gift.from_raw({"uid": str(uuid4()), "share": str(uuid4()), "to": "Sorin", "tubs": "0"})
    assert set(refused.value.errors) == {"to", "tubs"}


# Who moves out, and who is not known


@pytest.mark.parametrize("said", ["pick_up", ""])  # nothing is asked where nothing waits
@pytest.mark.parametrize(("days", "has_it"), [(-1, False), (0, True), (1, True)])
def test_whoever_moves_out_has_the_credit_until_the_last_day(cast: Cast, days: int, has_it: bool, said: str) -> None:
    later = OUT + 9 * DAY
    with inside(cast.building.uid) as here:
        rule(here, reserve_percent=0)
        people = {name: resident(here, name) for name in "ABC"}
        for person in people.values():
            bring(here, cast.drum, person)
        first = shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 10)))
        owed = max("ABC", key=lambda name: first[name].credit_after_millionths)
        for share in first.values():
            fetch(here, share)
        place = cast.drum.places.get(letter="A")
        batch = Batch.objects.create(
            building=here, drum=cast.drum, place=place, started_in=place, stage="ready", opened_at=OUT, closed_at=OUT
        )
        told = Leaving(uuid4(), later.date() + days * DAY, said)
        move_out(building=here, household=home(people[owed]), told=told, person=people[owed], via="web", now=later)
        harvest = take_out(here, batch, 10, now=later)
        fresh = Harvest.objects.within(here).select_related("batch__drum__site").get(pk=harvest.pk)
        found = {one.uid: one.credit_millionths for one in claimants(here, fresh, later.date())}
        assert (found.get(home(people[owed]).uid, 0) > 0) is has_it
        split = share_out(here, fresh, later)
        assert restate(here, split).moved_tubs == 0


def test_scraps_that_nobodys_name_is_on_count_for_nobody_and_their_part_is_spread(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="contribution", reserve_percent=0, ceiling_percent=None)
        for name, grams in (("A", 6000), ("B", 3000)):
            bring(here, cast.drum, resident(here, name), 1, grams)
        raw = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "kilograms": "9"}
        record_drop_off(
            building=here, told=DropOff.from_raw(raw), household=None, person=cast.caretaker, via="sheet", now=NOW
        )
        harvest = take_out(here, lot(here, cast.drum), 9)
        assert len(claimants(here, harvest, OUT.date())) == 2
        assert tubs(here, harvest, "AB") == [6, 3]


@pytest.mark.parametrize("kind", ["equal", "contribution", "care", "request"])
def test_a_preview_takes_as_many_queries_for_many_households_as_for_few(cast: Cast, kind: str) -> None:
    def queries() -> int:
        fresh = Harvest.objects.within(here).select_related("batch__drum__site").get()
        with CaptureQueriesContext(connection) as seen:
            preview(here, fresh, OUT.date())
        return len(seen)

    with inside(cast.building.uid) as here:
        rule(here, sharing_kind=kind)
        batch, site = lot(here, cast.drum), Site.objects.within(here).get()

        def take_part(name: str, number: int) -> None:
            person = resident(here, name)
            bring(here, cast.drum, person)
            visit(here, cast, person, NOW + DAY)
            duty(here, site, person, (NOW + number * DAY).date(), 20)
            if kind == "request":
                ask_for(here, person, batch, 2, NOW + DAY)

        take_part("A", 2)
        take_out(here, batch, 20)
        few = queries()
        for number, name in enumerate("BCDEFG", start=3):
            take_part(name, number)
        assert queries() == few
