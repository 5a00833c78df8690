"""The cash list: what is written down, taken back, paid back and looked at, and the figures of a month."""

import datetime as dt
import random
from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid5

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from bins.money.approving import Limit, approve, set_currency, set_limit
from bins.money.cash import Back, Cash, pay_back, record_money, undo_money
from bins.people.moving_out import Leaving, move_out
from bins.records import Refused
from households.cash_book import money_between, money_month, money_rows, owed_rows
from households.ledger import UidReused
from households.models import Building, CommitteeDecision, Money, MoneyAttribution, Person
from households.tenancy import found, inside
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded

MAY = dt.date(2026, 5, 1)
APRIL = dt.date(2026, 4, 1)


def cash(here: Building, number: int = 0, **raw: Any) -> Cash:
    usual = {"uid": uuid5(here.uid, f"cash {number}"), "way": "out", "amount": "12.40", "purpose": "browns"}
    return Cash.from_raw(usual | raw, 2)


def write(here: Building, by: Person | None, number: int = 0, *, now: dt.datetime = NOW, **raw: Any) -> Money:
    told = cash(here, number, **raw)
    return record_money(building=here, told=told, names_others=True, person=by, via="web", now=now).row


def limit(here: Building, above: str, by: Person) -> None:
    told = Limit.from_raw({"uid": uuid5(here.uid, f"limit {above}"), "above": above, "why": "Two pairs of eyes"}, 2)
    set_limit(building=here, told=told, by=by, via="web", now=NOW)


def test_an_amount_is_kept_in_the_smallest_coin_and_the_currency_stays(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = write(here, cast.caretaker, amount="12,40")
        assert (row.coins, row.way, row.purpose, row.purse) == (1240, "out", "browns", "box")
        here.refresh_from_db()
        assert here.currency == "EUR"  # of Berlin's country
        with pytest.raises(Refused) as refused:
            set_currency(building=here, currency="USD", person=cast.caretaker, now=NOW)
        assert set(refused.value.errors) == {"currency"}


def test_before_the_first_row_the_currency_can_be_chosen(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        set_currency(building=here, currency="CHF", person=cast.caretaker, now=NOW)
        here.refresh_from_db()
        assert here.currency == "CHF"
        with pytest.raises(Refused):
            set_currency(building=here, currency="XXX", person=cast.caretaker, now=NOW)


@pytest.mark.parametrize(
    ("decimals", "amount", "coins"),
    # ISO 4217: yen have no smaller coin, euros have cents, Kuwaiti dinars have fils
    [(0, "1200", 1200), (0, "12.5", None), (2, "0.01", 1), (2, "0.001", None), (3, "1.234", 1234), (2, "0", None),
     (2, "-3", None), (2, "999999", 99_999_900), (2, "1000000", None)],
)  # fmt: skip
def test_an_amount_has_no_smaller_part_than_the_smallest_coin(decimals: int, amount: str, coins: int | None) -> None:
    raw = {"uid": uuid5(UUID(int=1), "x"), "way": "in", "amount": amount, "purpose": "gift"}
    if coins is None:
        with pytest.raises(Refused) as refused:
            Cash.from_raw(raw, decimals)
        assert set(refused.value.errors) == {"amount"}
    else:
        assert Cash.from_raw(raw, decimals).coins == coins


def test_every_fault_is_named_at_once() -> None:
    with pytest.raises(Refused) as refused:
        Cash.from_raw({"way": "out", "purpose": "deposit", "purse": "own", "day": "soon", "owed_to": "x"}, 2)
    assert set(refused.value.errors) == {"uid", "amount", "purse", "day", "owed_to"}


def test_a_row_arrives_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert write(here, cast.caretaker) == write(here, cast.caretaker)
        with pytest.raises(UidReused):
            write(here, cast.caretaker, amount="13")
        assert Money.objects.within(here).count() == 1


def test_a_month_opens_with_what_the_last_one_closed_with(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        write(here, cast.caretaker, 1, way="in", purpose="fee", amount="100", day="2026-04-30")
        write(here, cast.caretaker, 2, amount="30", day="2026-04-30")
        write(here, cast.caretaker, 3, amount="12.40", day="2026-05-01")
        april, may = money_month(here, APRIL), money_month(here, MAY)
        assert (april.opening, april.came_in, april.went_out, april.closing) == (0, 10000, 3000, 7000)
        assert (may.opening, may.came_in, may.went_out, may.closing) == (7000, 0, 1240, 5760)
        assert may.by_purpose == (("browns", 0, 1240),)


def test_a_correction_counts_in_the_month_of_what_it_corrects(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = write(here, cast.caretaker, amount="30", day="2026-04-30")
        undone = undo_money(building=here, uid=row.uid, person=cast.committee, via="web", now=NOW)
        assert undo_money(building=here, uid=row.uid, person=cast.committee, via="web", now=NOW) == undone
        april = money_month(here, APRIL)
        assert (april.went_out, april.closing, april.by_purpose) == (0, 0, ())
        with pytest.raises(Money.DoesNotExist):
            undo_money(building=here, uid=undone.uid, person=cast.committee, via="web", now=NOW)


@pytest.mark.parametrize("way", ["in", "out"])
def test_the_first_row_ever_is_seen_in_its_own_month(cast: Cast, way: str) -> None:
    with inside(cast.building.uid) as here:
        assert not money_month(here, MAY).has_rows
        write(here, cast.caretaker, way=way)
        assert money_month(here, MAY).has_rows
        assert not money_month(here, APRIL).has_rows  # the cash list had not begun
        assert money_month(here, dt.date(2026, 6, 1)).has_rows


def test_what_comes_from_ones_own_purse_is_owed_until_it_is_paid_back(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = write(here, cast.caretaker, purse="own", owed_to=str(cast.resident.uid))
        named = MoneyAttribution.objects.within(here).get(row=row, part="owed")
        assert named.person == cast.resident
        assert list(owed_rows(here)) == [row]
        before = money_month(here, MAY)
        assert (before.closing, before.owed, before.in_the_box) == (-1240, 1240, 0)
        back = pay_back(building=here, uid=row.uid, person=cast.caretaker, via="web", now=NOW)
        assert pay_back(building=here, uid=row.uid, person=cast.caretaker, via="web", now=NOW) == back
        after = money_month(here, MAY)
        assert (after.closing, after.owed, after.in_the_box) == (-1240, 0, -1240)
        assert list(owed_rows(here)) == []


def test_what_was_paid_back_is_taken_back_in_order_and_can_be_paid_again(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        who: dict[str, Any] = {"building": here, "person": cast.caretaker, "via": "web", "now": NOW}
        row = write(here, cast.caretaker, purse="own")
        back = pay_back(uid=row.uid, **who)
        with pytest.raises(Refused):
            undo_money(uid=row.uid, **who)
        undo_money(uid=back.uid, **who)
        assert money_month(here, MAY).owed == 1240
        assert pay_back(uid=row.uid, **who).uid != back.uid
        assert money_month(here, MAY).owed == 0
        with pytest.raises(Money.DoesNotExist):
            pay_back(uid=write(here, cast.caretaker, 2).uid, **who)


def test_it_can_be_paid_back_in_parts_until_nothing_is_owed(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = write(here, cast.resident, purse="own")  # 12.40
        who: dict[str, Any] = {"building": here, "uid": row.uid, "person": cast.caretaker, "via": "web", "now": NOW}
        parts = [
            Back.from_raw({"uid": uuid5(here.uid, f"part {n}"), "amount": a}, 2) for n, a in enumerate(("5", "7.41"))
        ]
        first = pay_back(**who, told=parts[0])
        assert pay_back(**who, told=parts[0]) == first
        assert [one.rest for one in owed_rows(here)] == [740]
        with pytest.raises(UidReused):
            pay_back(**who, told=Back(parts[0].uid, 501))
        with pytest.raises(Refused):  # a cent more than is owed
            pay_back(**who, told=parts[1])
        with pytest.raises(Refused):  # part of it is paid back: that is taken back first
            undo_money(**who)
        rest = pay_back(**who)
        assert (rest.coins, pay_back(**who)) == (740, rest)
        assert (list(owed_rows(here)), money_month(here, MAY).owed) == ([], 0)
        undo_money(**who | {"uid": first.uid})
        assert [one.rest for one in owed_rows(here)] == [500] == [money_month(here, MAY).owed]


@pytest.mark.parametrize(
    ("raw", "faults"),
    [
        ({}, set()),
        ({"amount": "3"}, {"uid"}),
        ({"uid": str(UUID(int=1)), "amount": "0"}, {"amount"}),
        ({"uid": str(UUID(int=1)), "amount": "0.001"}, {"amount"}),
    ],
)
def test_a_part_needs_a_uid_and_an_amount_that_there_are_coins_for(raw: dict[str, str], faults: set[str]) -> None:
    if not faults:
        assert Back.from_raw(raw, 2) == Back()
        return
    with pytest.raises(Refused) as refused:
        Back.from_raw(raw, 2)
    assert set(refused.value.errors) == faults


def test_deposits_stand_apart_from_in_and_out(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        write(here, cast.caretaker, 1, way="in", purpose="deposit", amount="20")
        write(here, cast.caretaker, 2, way="in", purpose="deposit", amount="20")
        write(here, cast.caretaker, 3, way="out", purpose="deposit", amount="20")
        may = money_month(here, MAY)
        assert (may.came_in, may.went_out, may.closing, may.deposits, may.in_the_box) == (0, 0, 0, 2000, 2000)


def test_only_whoever_may_name_people_says_that_somebody_else_is_owed(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        for owed_to, names_others in ((cast.resident.uid, False), (cast.elsewhere_person.uid, True)):
            told = cash(here, purse="own", owed_to=str(owed_to))
            with pytest.raises(Refused) as refused:
                record_money(
                    building=here, told=told, names_others=names_others, person=cast.committee, via="web", now=NOW
                )
            assert set(refused.value.errors) == {"owed_to"}


def test_whoever_moves_out_is_forgotten_and_no_amount_changes(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = write(here, cast.caretaker, purse="own", owed_to=str(cast.neighbour.uid))
        mine = write(here, cast.neighbour, 1, amount="7")
        before = money_month(here, MAY)
        told = {"uid": uuid5(here.uid, "leave"), "last_day": "2026-05-04", "sure": "yes", "share": "garden"}
        household = cast.neighbour.household
        assert household is not None
        move_out(
            building=here, household=household, told=Leaving.from_raw(told), person=cast.caretaker, via="web", now=NOW
        )
        assert not Person.objects.within(here).filter(name="Sorin").exists()
        rows = MoneyAttribution.objects.within(here).filter(row__in=[row, mine])
        assert [(one.part, one.person) for one in rows] == [("wrote", cast.caretaker)]
        assert money_month(here, MAY) == before


@pytest.mark.parametrize(("amount", "wants"), [("49.99", False), ("50", False), ("50.01", True)])
def test_above_the_limit_a_row_asks_for_a_second_look(cast: Cast, amount: str, wants: bool) -> None:
    with inside(cast.building.uid) as here:
        limit(here, "50", cast.committee)
        assert CommitteeDecision.objects.within(here).get().figures == {"approval_above": 5000}
        row = write(here, cast.caretaker, amount=amount)
        assert row.wants_approval is wants
        assert money_month(here, MAY).unseen == int(wants)
        assert money_month(here, MAY).went_out == row.coins  # it was paid, whoever looks


def test_somebody_else_looks_at_it_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        limit(here, "10", cast.committee)
        row = write(here, cast.caretaker, purse="own", owed_to=str(cast.resident.uid))
        for one in (cast.caretaker, cast.resident, None):  # the writer, the owed, nobody
            with pytest.raises(Refused):
                approve(building=here, uid=row.uid, person=one, via="web", now=NOW)
        seen = approve(building=here, uid=row.uid, person=cast.committee, via="web", now=NOW)
        assert approve(building=here, uid=row.uid, person=cast.committee, via="web", now=NOW) == seen
        assert money_month(here, MAY).unseen == 0
        small = write(here, cast.caretaker, 2, amount="1")
        with pytest.raises(Refused):
            approve(building=here, uid=small.uid, person=cast.committee, via="web", now=NOW)


def test_only_the_committee_sets_the_limit(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        with pytest.raises(Refused):
            limit(here, "50", cast.resident)
        here.refresh_from_db()
        assert here.approval_above is None


def test_the_books_are_only_added_to_and_refuse_what_cannot_be(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        row = write(here, cast.caretaker)
        with pytest.raises(DatabaseError), transaction.atomic():
            Money.objects.within(here).filter(pk=row.pk).update(coins=1)
        wrong: tuple[dict[str, Any], ...] = (
            {"coins": -5}, {"coins": 0}, {"way": "in", "purse": "own"}, {"way": "back"}, {"purpose": "cake"},
            {"purpose": "deposit", "purse": "own"},
        )  # fmt: skip
        for number, values in enumerate(wrong):
            bad = Money(
                building=here, ledger_number=1000 + number, happened_at=NOW, heard_at=NOW, counts_at=NOW, via="web",
                **{"way": "out", "coins": 5, "purpose": "other"} | values,
            )  # fmt: skip
            with pytest.raises(IntegrityError), transaction.atomic():
                bad.save(force_insert=True)


def test_figures_and_rows_ask_no_more_of_the_database_with_more_rows(cast: Cast) -> None:
    def asked(here: Building) -> int:
        with CaptureQueriesContext(connection) as queries:
            money_month(here, MAY)
            [(row.reverses, row.settles) for row in money_rows(here, MAY, dt.date(2026, 6, 1))]
            list(owed_rows(here))
        return len(queries)

    with inside(cast.building.uid) as here:
        write(here, cast.caretaker, purse="own")
        few = asked(here)
        for number in range(1, 20):
            write(here, cast.caretaker, number, purse=("box", "own")[number % 2], purpose=("fee", "gift")[number % 2])
        assert asked(here) == few == 5


# Random ledgers ---------------------------------------------------------------------------------------


@dataclass
class Tally:
    """Books of the test's own, that never read the product's: by month, and what hangs over."""

    came: defaultdict[dt.date, int] = field(default_factory=lambda: defaultdict(int))
    went: defaultdict[dt.date, int] = field(default_factory=lambda: defaultdict(int))
    owed: int = 0
    deposits: int = 0

    def add(self, day: dt.date, way: str, purpose: str, purse: str, coins: int) -> None:
        month = day.replace(day=1)
        if purpose == "deposit":
            self.deposits += coins if way == "in" else -coins
        elif way == "in":
            self.came[month] += coins
        elif way == "out":
            self.went[month] += coins
            self.owed += coins if purse == "own" else 0
        else:
            self.owed -= coins


MONTHS = (dt.date(2026, 3, 1), APRIL, MAY)
PURPOSES = ("browns", "repair", "equipment", "deposit", "messages", "gift", "fee", "other")


def live_one(chance: random.Random, here: Building) -> Tally:
    tally, rows, back, partly = Tally(), [], {}, dict[UUID, int]()
    who: dict[str, Any] = {"building": here, "person": None, "via": "web", "now": NOW}
    for number in range(chance.randint(2, 9)):
        act = chance.choice(("write", "write", "write", "undo", "back", "part"))
        if act == "write" or not rows:
            day = NOW.date() - dt.timedelta(days=chance.randint(0, 59))
            way, purpose = chance.choice(("in", "out", "out")), chance.choice(PURPOSES)
            purse = "own" if way == "out" and purpose != "deposit" and chance.random() < 0.4 else "box"
            coins = chance.randint(1, 20_000)
            told = {"way": way, "purpose": purpose, "purse": purse, "amount": f"{coins / 100:.2f}", "day": day}
            row = write(here, None, number, **told)
            tally.add(day, way, purpose, purse, coins)
            rows.append((row.uid, day, way, purpose, purse, coins))
            continue
        one = chance.choice(rows)
        uid, day, way, purpose, purse, coins = one
        if act == "back" and purse == "own" and uid not in back:
            back[uid] = pay_back(uid=uid, **who).uid
            tally.add(NOW.date(), "back", purpose, "box", coins)
        elif act == "part" and purse == "own" and uid not in back and coins > 1:
            told_back = Back(uuid5(uid, f"part {number}"), chance.randint(1, coins - 1))
            pay_back(uid=uid, **who, told=told_back)
            assert told_back.coins is not None
            tally.add(NOW.date(), "back", purpose, "box", told_back.coins)
            undo_money(uid=told_back.uid, **who)
            tally.add(NOW.date(), "back", purpose, "box", -told_back.coins)
            back_again = Back(uuid5(uid, f"part again {number}"), told_back.coins)
            back[uid] = pay_back(uid=uid, **who, told=back_again).uid
            tally.add(NOW.date(), "back", purpose, "box", told_back.coins)
            partly[uid] = told_back.coins
        elif act == "undo" and uid in back:
            with pytest.raises(Refused):
                undo_money(uid=uid, **who)
            undo_money(uid=back.pop(uid), **who)
            tally.add(NOW.date(), "back", purpose, "box", -partly.pop(uid, coins))
        elif act == "undo":
            undo_money(uid=uid, **who)
            tally.add(day, way, purpose, purse, -coins)
            rows.remove(one)
    return tally


@pytest.mark.parametrize("ledgers", [100, pytest.param(1000, marks=pytest.mark.proof)])
def test_in_random_ledgers_with_corrections_the_figures_are_those_of_the_tests_own_tally(
    db: None, ledgers: int
) -> None:
    chance, taken_back = random.Random(20260504), 0
    for number in range(ledgers):
        with transaction.atomic():
            building = found(
                Building(uid=uuid5(UUID(int=7), str(number)), name="x", time_zone="Europe/Berlin", created_at=NOW)
            )
            tally = live_one(chance, building)
            opening = 0
            for month in MONTHS:
                told = money_month(building, month)
                assert (told.opening, told.came_in, told.went_out) == (opening, tally.came[month], tally.went[month])
                assert told.closing == told.opening + told.came_in - told.went_out
                assert sum(came for _, came, _ in told.by_purpose) == told.came_in
                opening = told.closing
            assert (told.owed, told.deposits) == (tally.owed, tally.deposits)
            assert sum(row.rest for row in owed_rows(building)) == tally.owed
            whole = money_between(building, MONTHS[0], dt.date(2026, 6, 1))
            assert (whole.opening, whole.closing, whole.in_the_box) == (0, opening, opening + told.owed + told.deposits)
            taken_back += Money.objects.within(building).filter(reverses__isnull=False).count()
    assert taken_back > ledgers / 2
