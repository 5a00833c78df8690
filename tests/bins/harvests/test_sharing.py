"""A harvest shared out: who has a claim, what each gets, what is carried, and that it happens once."""

import datetime as dt
from contextlib import nullcontext
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.care.stages import open_batch
from bins.care.visit import CareVisit, record_visit
from bins.harvests import unclaimed
from bins.harvests.balance import Balance, balance
from bins.harvests.outgoing import undo
from bins.harvests.share_words import sentence
from bins.harvests.sharing import Sharing, finalise, of_household, preview, restate
from bins.harvests.took_part import credits
from bins.intake.dropoff import DropOff, record_drop_off, undo_drop_off
from bins.models import Batch, Contribution, Harvest, Share, Split, Visit
from bins.records import Refused
from households.giving import Wish, choose_gift
from households.ledger import open_ledger
from households.models import Audit, Building, Job, Notice, Person, Site
from households.tenancy import inside
from tests.bins.harvests.harvested import (
    DAY,
    OUT,
    TUB,
    bring,
    fetch,
    lose,
    lot,
    mature,
    resident,
    rule,
    share_out,
    shares_of,
    take_out,
)  # fmt: skip
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def next_lot(here: Building, cast: Cast, at: dt.datetime) -> Batch:
    place = cast.drum.places.get(letter="A")
    with open_ledger(here) as ledger:
        return open_batch(ledger, place, uid=uuid4(), person=None, via="web", at=at)


def millionths(share: Share) -> tuple[int, int, int, int]:
    return (share.due_millionths, share.credit_before_millionths, share.tubs, share.credit_after_millionths)


def test_the_beds_come_first_and_the_rest_is_equal_for_each_household_that_took_part(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = [resident(here, name) for name in "ABC"]
        for person in people:
            bring(here, cast.drum, person)
        harvest = take_out(here, lot(here, cast.drum), 10)
        split = share_out(here, harvest)
        # 10 tubs, a fifth for the beds: 8 for three, 2.666667 or so each.
        assert (split.reserve_millionths, split.left_over_tubs, split.given_tubs) == (2_000_000, 0, 8)
        shares = shares_of(here, split)
        assert sorted(share.tubs for share in shares.values()) == [2, 3, 3]
        assert sum(share.due_millionths for share in shares.values()) == 8_000_000
        assert sum(share.credit_after_millionths for share in shares.values()) == 0
        # Three alike for the last two tubs: the stated rule decided, and says so.
        assert (split.tie, split.tied, split.served) == ("larger-then-uid", 3, 2)
        assert balance(here, harvest) == Balance(10 * TUB, reserve=2 * TUB)
        assert balance(here, harvest).waiting == 8 * TUB


@pytest.mark.parametrize(("times", "tubs"), [(2, None), (3, 8), (4, 8)])
def test_three_drop_offs_are_taking_part_and_two_are_not(cast: Cast, times: int, tubs: int | None) -> None:
    with inside(cast.building.uid) as here:
        bring(here, cast.drum, resident(here, "A"), times)
        shares = shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 10)))
        assert (shares["A"].tubs if shares else None) == tubs


def test_a_drop_off_that_was_taken_back_does_not_count(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bring(here, cast.drum, resident(here, "A"))
        row = Contribution.objects.within(here).first()
        undo_drop_off(building=here, row=row, person=None, via="web", now=NOW)
        assert shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 10))) == {}


def test_a_care_visit_is_taking_part_and_one_after_the_lot_is_not(cast: Cast) -> None:
    def visit(person: Person, at: dt.datetime) -> None:
        raw = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "turned": "yes"}
        record_visit(building=here, told=CareVisit.from_raw(raw), person=person, via="web", now=at)

    with inside(cast.building.uid) as here:
        visit(resident(here, "A"), NOW + DAY)
        harvest = take_out(here, lot(here, cast.drum), 10)
        visit(resident(here, "B"), OUT + DAY)
        assert Visit.objects.within(here).count() == 2
        assert set(shares_of(here, share_out(here, harvest, OUT + DAY))) == {"A"}


def test_those_who_brought_to_a_lot_that_became_part_of_it_share_too(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bring(here, cast.drum, resident(here, "A"))
        first = lot(here, cast.drum)
        mature(here, first)
        first.place = None
        place = cast.drum.places.get(letter="B")
        with open_ledger(here) as ledger:
            second = open_batch(ledger, place, uid=uuid4(), person=None, via="web", at=NOW + 20 * DAY)
        first.stage, first.merged_into, first.ended_at = "merged", second, OUT
        first.save()
        bring(here, cast.drum, resident(here, "B"), at=NOW + 30 * DAY)
        assert set(shares_of(here, share_out(here, take_out(here, second, 10)))) == {"A", "B"}


def test_by_weight_a_big_kitchen_gets_more_up_to_the_ceiling(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="contribution", reserve_percent=0, ceiling_percent=200)
        for name, grams in (("A", 9000), ("B", 500), ("C", 500)):
            bring(here, cast.drum, resident(here, name), 1, grams)
        shares = shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 12)))
        # 90 % of 12 would be 10.8; twice an equal share of 4 is 8, and the other two share the rest.
        assert [shares[name].due_millionths for name in "ABC"] == [8_000_000, 2_000_000, 2_000_000]


@pytest.mark.parametrize(
    ("grams", "tubs", "printed", "tie"),
    [
        # S1, C: largest remainder method, encyclopaedia example
        ([1500, 1500, 900, 500, 500, 200], 25, [7, 7, 4, 3, 3, 1], ""),
        ([1500, 1500, 900, 500, 500, 200], 26, [8, 8, 5, 2, 2, 1], ""),
        # S2, C: Alabama paradox, "How Math Explains the World", p. 230
        ([5670, 3850, 420, 60], 323, [183, 124, 14, 2], ""),
        ([5670, 3850, 420, 60], 324, [184, 125, 13, 2], ""),
        # S3, C: staatsrecht example
        ([6100, 5000, 900], 10, [5, 4, 1], ""),
        # S4, C: 1982 posting: a tie at the last tub; the stated rule decides, and says so
        ([3000, 7000, 90000], 50, [1, 4, 45], "larger-then-uid"),
    ],
)
def test_s1_to_s4_the_largest_remainder_through_the_service(
    cast: Cast, grams: list[int], tubs: int, printed: list[int], tie: str
) -> None:
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="contribution", reserve_percent=0, ceiling_percent=None)
        for name, amount in zip("ABCDEF", grams, strict=False):
            bring(here, cast.drum, resident(here, name), 1, amount)
        split = share_out(here, take_out(here, lot(here, cast.drum), tubs))
        shares = shares_of(here, split)
        assert [shares[name].tubs for name in sorted(shares)] == printed
        assert split.tie == tie


def test_s9_ten_harvests_with_what_is_owed_carried_along(cast: Cast) -> None:
    # S9, D: shares 46, 25, 15, 14 %; 7 tubs, ten times: 32, 18, 10, 10, and no credit past half a tub.
    fetched = dict.fromkeys("ABCD", 0)
    with inside(cast.building.uid) as here:
        rule(here, sharing_kind="contribution", reserve_percent=0, ceiling_percent=None)
        people = {name: resident(here, name) for name in "ABCD"}
        at = NOW
        for number in range(10):
            batch = lot(here, cast.drum) if number == 0 else next_lot(here, cast, at)
            for name, grams in (("A", 4600), ("B", 2500), ("C", 1500), ("D", 1400)):
                bring(here, cast.drum, people[name], 1, grams, at)
            at += 10 * DAY
            shares = shares_of(here, share_out(here, take_out(here, batch, 7, now=at), at))
            for name, share in shares.items():
                fetched[name] += share.tubs
                assert abs(share.credit_after_millionths) <= 500_000
                assert share.credit_before_millionths + share.due_millionths - share.tubs * TUB == (
                    share.credit_after_millionths
                )
            at += DAY
    assert fetched == {"A": 32, "B": 18, "C": 10, "D": 10}


def test_a_household_may_leave_its_share_to_the_beds_and_keeps_its_credit(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = [resident(here, name) for name in "ABCD"]
        for person in people:
            bring(here, cast.drum, person)
        household = people[0].household
        assert household is not None
        for _ in range(2):
            choose_gift(building=here, household=household, wish=Wish.GARDEN, by=people[0], now=NOW)
        assert Audit.objects.within(here).filter(act="share-given").count() == 1
        harvest = take_out(here, lot(here, cast.drum), 10)
        split = share_out(here, harvest)
        shares = shares_of(here, split)
        # 8 for four: two each; A's two go to the beds.
        assert (shares["A"].to_garden, millionths(shares["A"])) == (True, (0, 0, 0, 0))
        assert [shares[name].tubs for name in "BCD"] == [2, 2, 2]
        assert (split.given_up_tubs, split.left_over_tubs) == (2, 2)
        assert balance(here, harvest).reserve == 4 * TUB
        assert sentence(shares["A"]) == "Your share goes to the beds, as you chose."


def test_what_was_lost_before_the_split_is_not_shared_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        bring(here, cast.drum, resident(here, "A"))
        harvest = take_out(here, lot(here, cast.drum), 10)
        lose(here, harvest, 5 * TUB, "spoilt")
        split = share_out(here, harvest)
        assert (split.divided_millionths, split.reserve_millionths, split.given_tubs) == (5 * TUB, TUB, 4)
        assert balance(here, harvest) == Balance(10 * TUB, reserve=TUB, lost=5 * TUB)


def test_nobody_took_part_and_all_of_it_goes_to_the_beds(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        harvest = take_out(here, lot(here, cast.drum), 3, "0.5")
        share_out(here, harvest)
        assert balance(here, harvest) == Balance(3_500_000, reserve=3_500_000)
        assert not Job.objects.filter(building=here, name=unclaimed.NAME).exists()


def test_what_is_made_final_is_what_was_looked_at(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        person = resident(here, "A")
        bring(here, cast.drum, person)
        harvest = take_out(here, lot(here, cast.drum), 10)
        seen = preview(here, harvest, OUT.date())
        lose(here, harvest, TUB)
        told = Sharing(uuid4(), seen.mark, OUT.date(), "by the drums")
        with pytest.raises(Refused) as refused:
            finalise(building=here, harvest_uid=harvest.uid, told=told, person=None, via="web", now=OUT)
        assert set(refused.value.errors) == {"mark"}
        assert Split.objects.within(here).count() == 0


@pytest.mark.parametrize(("day", "is_taken"), [(-1, False), (0, True), (1, True)])
def test_the_day_of_fetching_is_today_or_later_on_the_buildings_own_clock(cast: Cast, day: int, is_taken: bool) -> None:
    late = dt.datetime(2026, 8, 12, 22, 30, tzinfo=dt.UTC)  # the 13th in Berlin already
    with inside(cast.building.uid) as here:
        harvest = take_out(here, lot(here, cast.drum), 1)
        today = dt.date(2026, 8, 13)
        told = Sharing(uuid4(), preview(here, harvest, today).mark, today + day * DAY, "by the drums")
        with nullcontext() if is_taken else pytest.raises(Refused, match="pick_up_on"):
            row = finalise(building=here, harvest_uid=harvest.uid, told=told, person=None, via="web", now=late).row
            assert row.pick_up_until - row.pick_up_on == 14 * DAY


def test_everybody_with_an_account_is_told_once_by_day(cast: Cast) -> None:
    night = dt.datetime(2026, 8, 12, 19, 30, tzinfo=dt.UTC)  # half past nine in the evening in Berlin
    with inside(cast.building.uid) as here:
        for name in "AB":
            bring(here, cast.drum, resident(here, name))
        Notice.objects.filter(building=here).delete()
        harvest = take_out(here, lot(here, cast.drum), 10, now=night)
        Notice.objects.filter(building=here).delete()  # that the site is full is told elsewhere
        share_out(here, harvest, night)
        told = list(Notice.objects.filter(building=here, kind="share").order_by("to"))
        assert [notice.to for notice in told] == ["a@quince-court.invalid", "b@quince-court.invalid"]
        assert told[0].body.startswith("You were due 4 tubs and get them.")
        assert "by the drums" in told[0].body
        deliver = Job.objects.get(building=here, name="deliver", key=str(told[0].uid))
        assert deliver.wake_at == dt.datetime(2026, 8, 13, 5, 0, tzinfo=dt.UTC)  # 07:00


def test_late_rows_show_what_would_be_and_change_nothing(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = {name: resident(here, name) for name in "AB"}
        bring(here, cast.drum, people["A"])
        bring(here, cast.drum, people["B"], 2)
        mature(here, lot(here, cast.drum))
        split = share_out(here, take_out(here, lot(here, cast.drum), 10))
        assert (restate(here, split).differing_households, restate(here, split).moved_tubs) == (0, 0)
        # A third pail of B's comes in on paper, from a day when the lot was filling.
        raw = {"uid": str(uuid4()), "drum": str(cast.drum.uid), "quarter_pails": 4}
        record_drop_off(
            building=here, told=DropOff.from_raw(raw | {"happened_at": (OUT - 85 * DAY).isoformat()}),
            household=people["B"].household, person=people["B"], via="sheet", now=OUT - 30 * DAY,
        )  # fmt: skip
        restated = restate(here, split)
        assert (restated.differing_households, restated.moved_tubs) == (2, 4)
        assert [share.tubs for share in shares_of(here, split).values()] == [8]


def test_what_was_lost_before_it_could_be_fetched_is_owed_the_next_time(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = {name: resident(here, name) for name in "AB"}
        for person in people.values():
            bring(here, cast.drum, person)
        harvest = take_out(here, lot(here, cast.drum), 10)
        shares = shares_of(here, share_out(here, harvest))
        site = Site.objects.within(here).get()
        fetch(here, shares["A"])
        lost = lose(here, harvest, TUB)
        uids = {name: person.household.uid for name, person in people.items() if person.household}
        assert credits(here, site) == {uids["A"]: 0, uids["B"]: 0}  # three wait for B still
        fetch(here, shares["B"])  # finds three of four
        assert credits(here, site) == {uids["A"]: 0, uids["B"]: TUB}
        undo(building=here, uid=lost, person=None, via="web", now=OUT)
        assert credits(here, site) == {uids["A"]: 0, uids["B"]: 0}


def test_a_household_that_moved_away_keeps_the_claim_of_what_it_brought_and_no_more(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        people = {name: resident(here, name) for name in "ABC"}
        for person in people.values():
            bring(here, cast.drum, person)
        rule(here, reserve_percent=0)
        first = shares_of(here, share_out(here, take_out(here, lot(here, cast.drum), 10)))
        owed = max(first, key=lambda name: first[name].credit_after_millionths * -1)
        gone = people[owed].household
        assert gone is not None
        batch = next_lot(here, cast, OUT)
        gone.left_on = OUT.date()
        gone.save()
        stays = next(name for name in "ABC" if name != owed)
        bring(here, cast.drum, people[stays], at=OUT)
        assert owed not in shares_of(here, share_out(here, take_out(here, batch, 10, now=OUT + 9 * DAY), OUT + 9 * DAY))


def test_the_queries_of_a_preview_do_not_grow_with_households_or_splits(cast: Cast) -> None:
    def queries(harvest: Harvest) -> int:
        fresh = Harvest.objects.within(here).select_related("batch__drum__site").get(pk=harvest.pk)
        with CaptureQueriesContext(connection) as seen:
            preview(here, fresh, OUT.date())
        return len(seen)

    with inside(cast.building.uid) as here:
        bring(here, cast.drum, resident(here, "A"))
        first = take_out(here, lot(here, cast.drum), 10)
        few = queries(first)
        share_out(here, first)
        batch = next_lot(here, cast, OUT)
        for name in "ABCDEFG":
            bring(here, cast.drum, resident(here, name), at=OUT)
        later = OUT + 9 * DAY
        second = take_out(here, batch, 20, now=later)
        assert queries(second) <= few + 3  # once there are earlier splits: which of them are over
        share_out(here, second, later)
        third = take_out(here, next_lot(here, cast, later), 20, now=later + DAY)
        assert queries(third) <= few + 3


def test_a_household_sees_its_own_shares_newest_first(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        person = resident(here, "A")
        assert person.household is not None
        bring(here, cast.drum, person)
        share_out(here, take_out(here, lot(here, cast.drum), 10))
        batch = next_lot(here, cast, OUT)
        bring(here, cast.drum, person, at=OUT)
        share_out(here, take_out(here, batch, 5, now=OUT + 9 * DAY), OUT + 9 * DAY)
        assert [share.tubs for share in of_household(here, person.household)] == [4, 8]
