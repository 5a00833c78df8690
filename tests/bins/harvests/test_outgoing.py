"""What leaves a harvest: never more than there is, each row once, and after the last day the beds get the rest."""

import datetime as dt
import threading
from uuid import uuid4, uuid5

import pytest
from django.db import IntegrityError, connection, connections, transaction

from bins.harvests import unclaimed
from bins.harvests.balance import Balance, balance
from bins.harvests.handout import hand_out, is_open
from bins.harvests.outgoing import Gift, Loss, PickUp, record_gift, record_loss, record_pick_up, undo
from bins.harvests.unclaimed import Left, Lying, Waiting, decide
from bins.models import Harvest, Outgoing, OutgoingAttribution, Share, Split
from bins.records import Refused
from coordinator.jobs.run import run_due
from households.ledger import UidReused
from households.models import Building, Job
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
    share_out,
    shares_of,
    take_out,
)
from tests.cast import Cast

pytestmark = pytest.mark.embedded
HALF = TUB // 2


def two_households(here: Building, cast: Cast, tubs: int = 10) -> tuple[Harvest, Split, dict[str, Share]]:
    """10 tubs: 2 for the beds, 4 each for A and B."""
    for name in "AB":
        bring(here, cast.drum, resident(here, name))
    harvest = take_out(here, lot(here, cast.drum), tubs)
    split = share_out(here, harvest)
    return harvest, split, shares_of(here, split)


def test_a_share_is_fetched_in_one_go_or_in_parts_and_never_more_than_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        harvest, _, shares = two_households(here, cast)
        fetch(here, shares["A"])
        fetch(here, shares["B"], 3)
        with pytest.raises(Refused, match="tubs"):
            fetch(here, shares["B"], 2)
        fetch(here, shares["B"], 1)
        for name in "AB":
            with pytest.raises(Refused, match="tubs"):
                fetch(here, shares[name])
        assert balance(here, harvest) == Balance(10 * TUB, given=8 * TUB, reserve=2 * TUB)
        assert balance(here, harvest).waiting == 0


def test_who_fetched_stands_in_the_second_row(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        _, _, shares = two_households(here, cast)
        fetch(here, shares["A"])
        (row,) = OutgoingAttribution.objects.within(here).filter(row__kind="given").select_related("household")
        assert row.household.label == "Flat A"


def test_the_same_pick_up_twice_is_one_row_and_with_other_values_it_is_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        _, _, shares = two_households(here, cast)
        uid = uuid4()
        fetch(here, shares["A"], uid=uid)
        fetch(here, shares["A"], uid=uid)
        with pytest.raises(UidReused):
            fetch(here, shares["A"], 1, uid=uid)
        assert Outgoing.objects.within(here).filter(kind="given").count() == 1


def test_a_loss_has_a_kind_and_a_witness_and_is_no_more_than_what_waits(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        harvest, _, shares = two_households(here, cast)
        fetch(here, shares["A"])
        with pytest.raises(Refused, match="tubs"):
            lose(here, harvest, 4 * TUB + 1000)
        told = Loss.from_raw({"uid": str(uuid4()), "loss": "spilt", "tubs": "0,5", "witness": "Sorin"})
        done = [
            record_loss(building=here, harvest_uid=harvest.uid, told=told, person=cast.caretaker, via="web", now=OUT)
            for _ in range(2)
        ]
        assert ([each.is_new for each in done], done[0].row.loss, done[0].row.millionths) == (
            [True, False], "spilt", HALF,
        )  # fmt: skip
        assert OutgoingAttribution.objects.within(here).get(row=done[0].row).witness == "Sorin"
        assert balance(here, harvest).waiting == 3 * TUB + HALF
        with pytest.raises(Refused, match="tubs"):
            fetch(here, shares["B"], 4)  # four are due, three and a half are there
        fetch(here, shares["B"])
        assert balance(here, harvest).waiting == 0


def test_a_pick_up_or_a_loss_is_taken_back_once_and_nothing_else_can_be(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        harvest, _, shares = two_households(here, cast)
        uid = uuid4()
        fetch(here, shares["A"], uid=uid)
        lost = lose(here, harvest, TUB)
        for each in (uid, lost):
            first, again = (undo(building=here, uid=each, person=None, via="web", now=OUT) for _ in range(2))
            assert first.pk == again.pk
            with pytest.raises(Outgoing.DoesNotExist):
                undo(building=here, uid=first.uid, person=None, via="web", now=OUT)
        reserve = Outgoing.objects.within(here).get(kind="reserve")
        with pytest.raises(Outgoing.DoesNotExist):
            undo(building=here, uid=reserve.uid, person=None, via="web", now=OUT)
        assert balance(here, harvest) == Balance(10 * TUB, reserve=2 * TUB)


def test_nothing_is_done_to_a_share_or_harvest_of_another_building(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        harvest, _, shares = two_households(here, cast)
    with inside(cast.elsewhere.uid) as there:
        with pytest.raises(Share.DoesNotExist):
            fetch(there, shares["A"])
        with pytest.raises(Harvest.DoesNotExist):
            lose(there, harvest, TUB)


def test_after_the_last_day_a_job_writes_what_was_not_fetched_and_the_beds_get_it(cast_in_the_open: Cast) -> None:
    cast = cast_in_the_open
    with inside(cast.building.uid) as here:
        harvest, split, shares = two_households(here, cast)
        fetch(here, shares["A"], 1)
    # Fetching until 26 August; the sweep of the 27th is due at three in the morning in Berlin.
    due_at = dt.datetime(2026, 8, 27, 1, 0, tzinfo=dt.UTC)
    with inside(cast.building.uid) as here:
        job = Job.objects.get(building=here, name="unclaimed")
        assert (job.key, job.wake_at, split.pick_up_until) == ("2026-08-27", due_at, dt.date(2026, 8, 26))
        Job.objects.filter(building=here).exclude(pk=job.pk).delete()
    run_due(due_at - dt.timedelta(seconds=1))
    with inside(cast.building.uid) as here:
        assert balance(here, harvest).waiting == 7 * TUB
    run_due(due_at)
    with inside(cast.building.uid) as here:
        assert balance(here, harvest) == Balance(10 * TUB, given=TUB, reserve=2 * TUB, unclaimed=7 * TUB)
        rows = Outgoing.objects.within(here).filter(kind="unclaimed")
        assert {(row.share.pk, row.millionths, row.counts_at) for row in rows} == {
            (shares["A"].pk, 3 * TUB, due_at),
            (shares["B"].pk, 4 * TUB, due_at),
        }
        assert Job.objects.get(building=here, name="unclaimed").state == "done"


def test_a_gift_sent_under_the_uid_that_the_sweep_would_take_does_not_stop_it(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        harvest, _split, shares = two_households(here, cast)
        share = next(iter(shares.values()))
        whose = share.attribution.household
        name_space = uuid5(here.uid, "unclaimed 2026-08-27")
        expected = uuid5(name_space, str(share.uid))
        for uid in (expected, uuid5(expected, "again")):
            told = Gift(uid, share.uid, "neighbours", TUB // 1000)
            record_gift(building=here, household=whose, told=told, person=None, via="api", now=OUT)
        day = OUT.date() + 15 * DAY
        at = unclaimed.as_of(here, day)
        unclaimed.apply(here, decide(unclaimed.gather(here, day)), at, at, name_space)
        assert balance(here, harvest).waiting == 0


def sweep(here: Building, day: dt.date) -> None:
    at = unclaimed.as_of(here, day)
    unclaimed.apply(here, decide(unclaimed.gather(here, day)), at, at, uuid4())


@pytest.mark.parametrize(("days", "waits"), [(14, True), (15, False)])
def test_on_the_last_day_it_still_waits_and_a_day_later_it_does_not(cast: Cast, days: int, waits: bool) -> None:
    with inside(cast.building.uid) as here:
        harvest, _, _ = two_households(here, cast)
        sweep(here, OUT.date() + days * DAY)
        assert bool(balance(here, harvest).waiting) is waits


def test_whoever_comes_after_the_last_day_still_gets_what_is_there(cast: Cast) -> None:
    late = OUT + 16 * DAY
    with inside(cast.building.uid) as here:
        harvest, split, shares = two_households(here, cast)
        sweep(here, OUT.date() + 15 * DAY)
        fetch(here, shares["A"], 3, now=late)
        assert balance(here, harvest) == Balance(10 * TUB, given=3 * TUB, reserve=2 * TUB, unclaimed=4 * TUB)
        assert Job.objects.filter(building=here, name="unclaimed", key="2026-08-29").exists()
        sweep(here, dt.date(2026, 8, 29))
        assert balance(here, harvest).waiting == 0
        a, b = hand_out(here, split)
        assert ((a.given, a.unclaimed, a.left), (b.given, b.unclaimed, b.left)) == (
            (3 * TUB, TUB, 0), (0, 4 * TUB, 0),
        )  # fmt: skip


def test_a_loss_taken_back_that_is_nobodys_share_goes_to_the_beds(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for name in "AB":
            bring(here, cast.drum, resident(here, name))
        harvest = take_out(here, lot(here, cast.drum), 10)
        lost = lose(here, harvest, 5 * TUB)
        share_out(here, harvest)
        undo(building=here, uid=lost, person=None, via="web", now=OUT)
        sweep(here, OUT.date() + 15 * DAY)
        assert balance(here, harvest) == Balance(10 * TUB, reserve=6 * TUB, unclaimed=4 * TUB)


def test_where_some_was_lost_those_who_never_came_are_counted_first() -> None:
    came, stayed = uuid4(), uuid4()
    harvest = uuid4()
    waiting = Waiting(harvest, 3 * TUB, (Lying(came, 2 * TUB, came=True), Lying(stayed, 2 * TUB, came=False)))
    assert decide((waiting,)) == (Left(harvest, stayed, 2 * TUB), Left(harvest, came, TUB))


def test_the_list_of_names_is_open_from_the_split_until_a_week_after_the_last_day() -> None:
    split = Split(pick_up_until=dt.date(2026, 8, 26))
    assert is_open(split, dt.date(2026, 9, 2))
    assert not is_open(split, dt.date(2026, 9, 3))


def test_the_database_itself_refuses_a_row_that_says_two_things(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        harvest, _, shares = two_households(here, cast)
        told = {
            "building": here,
            "harvest": harvest,
            "happened_at": OUT,
            "heard_at": OUT,
            "counts_at": OUT,
            "via": "web",
        }
        for number, faulty in enumerate(
            (
                {"kind": "given", "millionths": TUB},
                {"kind": "lost", "loss": "", "millionths": TUB},
                {"kind": "reserve", "share": shares["A"], "millionths": TUB},
                {"kind": "reserve", "millionths": -TUB},
                {"kind": "reserve", "millionths": 0},
            )
        ):
            with pytest.raises(IntegrityError), transaction.atomic():
                Outgoing.objects.create(ledger_number=9000 + number, **told, **faulty)


def test_of_many_who_take_the_last_tub_at_once_one_gets_it(cast_in_the_open: Cast) -> None:
    cast = cast_in_the_open
    if connection.vendor != "postgresql":
        pytest.skip("SQLite lets one writer in at a time by itself")
    with inside(cast.building.uid) as here:
        harvest, _, shares = two_households(here, cast)
        fetch(here, shares["A"], 4)
        lose(here, harvest, 3 * TUB)
    ready, found = threading.Barrier(4), []

    def take(number: int) -> None:
        try:
            with inside(cast.building.uid) as there:
                ready.wait(10)
                if number % 2:
                    told = PickUp(uuid4(), shares["B"].uid, None, TUB)
                    record_pick_up(building=there, told=told, person=None, via="web", now=OUT)
                else:
                    lose(there, harvest, TUB)
                found.append("got it")
        except Refused:
            found.append("was told that nothing is left")
        finally:
            connections.close_all()

    threads = [threading.Thread(target=take, args=[number]) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert sorted(found) == ["got it", *["was told that nothing is left"] * 3]
    with inside(cast.building.uid) as here:
        assert balance(here, harvest).waiting == 0
