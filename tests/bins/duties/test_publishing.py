"""A plan is put up as it was looked at, whole or not at all, and planned again so that little changes."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.duties.drafting import plans_ahead
from bins.duties.limits import LimitsTold, set_limits
from bins.duties.outcomes import of_raw
from bins.duties.pinning import CellTold, set_cell
from bins.duties.planning import gather, next_period
from bins.duties.publishing import PutUp, put_up
from bins.people.moving_out import Leaving, move_out
from bins.records import Refused
from households.ledger import UidReused
from households.models import (
    Absence,
    Building,
    Closure,
    Cover,
    Duty,
    DutyAssignment,
    DutyKind,
    Household,
    Job,
    Notice,
    RotaDraft,
    RotaDue,
    RotaPlan,
)
from households.rota.plan import Infeasible, Plan, Replans
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer

from .planned import DAY, TODAY, draft, home, kind, site_of, who

pytestmark = pytest.mark.embedded

FIRST, LAST = TODAY + DAY, TODAY + 28 * DAY


def look(here: Building, cast: Cast, now: dt.datetime = NOW) -> RotaDraft:
    return draft(here, site_of(cast), FIRST, LAST, now)


def plan_of(row: RotaDraft) -> Plan:
    assert row.outcome is not None
    found = of_raw(row.outcome)
    assert isinstance(found, Plan)
    return found


def up(here: Building, row: RotaDraft, now: dt.datetime = NOW, way: str = "published") -> RotaPlan:
    return put_up(building=here, draft=row, told=PutUp(uuid4(), way), person=None, now=now)


def again_drafted(here: Building, cast: Cast, now: dt.datetime) -> RotaDraft:
    (plan,) = plans_ahead(here, site_of(cast), here.local(now).date())
    return draft(here, site_of(cast), plan.first_on, plan.last_on, now, again=True)


def again(here: Building, cast: Cast, way: str, now: dt.datetime) -> RotaPlan:
    return up(here, again_drafted(here, cast, now), now, way)


def loads(here: Building) -> dict[str, int]:
    found: dict[str, int] = {}
    for label, minutes in DutyAssignment.objects.within(here).values_list("household__label", "duty__minutes"):
        found[label] = found.get(label, 0) + minutes
    return found


def test_four_weeks_from_tomorrow_are_planned_first_and_then_from_the_day_after_the_last_plan(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert next_period(here, site_of(cast), NOW) == (FIRST, LAST)
        kind(here, site_of(cast), usual=1)
        up(here, look(here, cast))
        assert next_period(here, site_of(cast), NOW) == (LAST + DAY, LAST + 28 * DAY)


def test_what_is_put_up_is_what_was_looked_at_and_the_work_is_even(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast), usual=1)
        seen = look(here, cast)
        row = up(here, seen)
        assert {(p.household.uid, p.duty.uid) for p in DutyAssignment.objects.within(here)} == {
            (cell.household, cell.task) for cell in plan_of(seen).cells
        }
        assert Duty.objects.within(here).filter(kind=turning, plan=row).count() == 28
        # 28 turns of 15 minutes for two households that are there all the time.
        assert loads(here) == {"Flat 3": 210, "Flat 5": 210}
        assert (row.number, row.way, bool(row.levels)) == (1, "published", True)
        assert sorted(RotaDue.objects.within(here).values_list("seconds", flat=True)) == [12600, 12600]


def test_the_same_form_twice_is_one_plan_and_other_values_are_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        row, told = look(here, cast), PutUp(uuid4(), "published")
        plans = [put_up(building=here, draft=row, told=told, person=cast.caretaker, now=NOW) for _ in range(2)]
        assert plans[0].pk == plans[1].pk
        other = draft(here, site_of(cast), LAST + DAY, LAST + 2 * DAY)
        with pytest.raises(UidReused):
            put_up(building=here, draft=other, told=told, person=cast.caretaker, now=NOW)


def test_nothing_goes_up_that_rests_on_what_is_no_longer_so(cast: Cast) -> None:
    def refused(row: RotaDraft) -> list[str]:
        with pytest.raises(Refused) as found:
            up(here, row)
        return [*found.value.errors]

    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        old, other = look(here, cast), look(here, cast)
        away = {"building": here, "household": home(cast.resident), "first_day": FIRST, "last_day": FIRST}
        absence = Absence.objects.create(**away)
        assert refused(old) == ["plan"]
        assert not Duty.objects.within(here).exists()
        absence.delete()
        up(here, old)
        assert refused(other) == ["plan"], "another plan went up"
        assert Duty.objects.within(here).count() == 28


def test_which_of_three_plans_must_be_said_and_only_there(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        first = look(here, cast)
        with pytest.raises(Refused) as refused:
            up(here, first, way="fairest")
        assert [*refused.value.errors] == ["way"]
        up(here, first)
        with pytest.raises(Refused) as refused:
            up(here, again_drafted(here, cast, NOW))
        assert [*refused.value.errors] == ["way"]
        with pytest.raises(Refused):
            PutUp.from_raw({"uid": uuid4(), "way": "somehow"})


def test_whoever_cannot_lift_gets_light_duties_and_an_absence_is_a_plain_cannot(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning, trays = kind(here, site_of(cast), usual=1), kind(here, site_of(cast), "trays", usual=1)
        set_limits(building=here, household=home(cast.resident), told=LimitsTold(True, False))
        Absence.objects.create(building=here, household=home(cast.neighbour), first_day=FIRST, last_day=FIRST)
        seen = look(here, cast)
        # On the first day nobody is left who turns: named, with what would free it.
        outcome, occurrences = of_raw(seen.outcome), gather(here, site_of(cast), FIRST, LAST, NOW).occurrences
        assert isinstance(outcome, Infeasible)
        assert [occurrences[uid].day for uid in outcome.tasks] == [FIRST]
        assert outcome.ways
        with pytest.raises(Refused):
            up(here, seen)
        assert not Duty.objects.within(here).exists()
        Absence.objects.all().delete()
        up(here, look(here, cast))
        by = DutyAssignment.objects.within(here)
        assert set(by.filter(duty__kind=turning).values_list("household__label", flat=True)) == {"Flat 5"}
        assert set(by.filter(duty__kind=trays).values_list("household__label", flat=True)) == {"Flat 3"}


def test_pinned_cells_are_in_the_plan_and_forbidden_ones_are_not(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast), usual=1)

        def cell(day: dt.date, person: Any, choice: str) -> None:
            raw = {"cell": f"{turning.uid}/{day}", "household": home(person).uid, "choice": choice}
            set_cell(building=here, site=site_of(cast), told=CellTold.from_raw(raw), person=None, now=NOW)

        for day in range(8):
            cell(FIRST + day * DAY, cast.resident, "pin" if day % 2 else "forbid")
        cell(FIRST, cast.resident, "forbid")
        up(here, look(here, cast))
        rows = Duty.objects.within(here).order_by("day")[:8]
        assert [who(row) for row in rows] == [["Flat 5"], ["Flat 3"]] * 4


def test_there_is_no_opening_on_closed_days_and_the_drums_are_turned_all_the_same(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        kind(here, site_of(cast), "opening", usual=1)
        Closure.objects.create(building=here, site=site_of(cast), first_day=FIRST, last_day=FIRST + DAY, words="works")
        up(here, look(here, cast))
        days = Duty.objects.within(here).order_by("day").values_list("day", flat=True)
        assert min(days.filter(kind__work="opening")) == FIRST + 2 * DAY
        assert min(days.filter(kind__work="turning")) == FIRST
        # Each opening is looked at 72 hours before it begins at 17:00 in Berlin.
        wakes = sorted(Job.objects.filter(name="short-opening").values_list("wake_at", flat=True))
        assert (len(wakes), wakes[0]) == (26, dt.datetime(2026, 5, 4, 15, 0, tzinfo=dt.UTC))


def test_planned_again_after_an_absence_only_what_is_further_than_the_notice_changes(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        up(here, look(here, cast))
        before = {row.day: who(row) for row in Duty.objects.within(here)}
        Absence.objects.create(building=here, household=home(cast.resident), first_day=FIRST, last_day=TODAY + 9 * DAY)
        row = again(here, cast, "fewest", NOW)
        after = {row.day: who(row) for row in Duty.objects.within(here)}
        near = [day for day in before if day < TODAY + 3 * DAY]
        assert {day: after[day] for day in near} == {day: before[day] for day in near}
        away = [TODAY + n * DAY for n in range(3, 10)]
        assert {tuple(after[day]) for day in away} == {("Flat 5",)}
        assert (row.number, row.way, row.people_changed) == (2, "fewest", 2)
        assert Notice.objects.filter(building=here, kind="duties-changed").count() == 2


def test_all_three_ways_keep_what_is_done_and_say_how_many_households_change(cast: Cast) -> None:
    later = NOW + 10 * DAY
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        up(here, look(here, cast))
        Duty.objects.within(here).filter(day__gte=TODAY + 20 * DAY, day__lte=TODAY + 21 * DAY).update(done_at=later)
        kept = {row.day: who(row) for row in Duty.objects.within(here) if row.done_at or row.day < TODAY + 13 * DAY}
    newcomer(cast.building, "Farida", "Flat 7", "resident")
    with inside(cast.building.uid) as here:
        Household.objects.within(here).filter(label="Flat 7").update(joined_on=TODAY + 10 * DAY)
        found = of_raw(again_drafted(here, cast, later).outcome)
        assert isinstance(found, Replans)
        assert len(found.fewest.changed) <= len(found.fairest.changed)
        again(here, cast, "fairest", later)
        after = {row.day: who(row) for row in Duty.objects.within(here)}
        assert {day: after[day] for day in kept} == kept
        assert loads(here).get("Flat 7", 0) > 0


def test_a_plan_made_again_ends_requests_for_duties_that_are_somebody_elses_now(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        up(here, look(here, cast))
        place = DutyAssignment.objects.within(here).filter(household=home(cast.resident), duty__day=TODAY + 9 * DAY)
        mine = place.first() or DutyAssignment.objects.within(here).filter(
            household=home(cast.resident), duty__day__gte=TODAY + 9 * DAY
        ).order_by("duty__day")[0]  # fmt: skip
        cover = Cover.objects.create(
            building=here, duty=mine.duty, household=mine.household, asked_at=NOW, fingerprint="x"
        )
        Absence.objects.create(building=here, household=mine.household, first_day=mine.duty.day, last_day=mine.duty.day)
        again(here, cast, "fewest", NOW)
        cover.refresh_from_db()
        assert cover.closed_at == NOW


def test_what_a_household_did_more_in_one_period_it_does_less_in_the_next(cast: Cast) -> None:
    """Both are due the same over all periods; whoever was away in the first owes nothing for it."""
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        up(here, look(here, cast))
        DutyAssignment.objects.within(here).filter(household=home(cast.resident)).update(household=home(cast.neighbour))
        first = loads(here)
        assert first == {"Flat 5": 420}
        next_first = LAST + DAY
        plan = plan_of(draft(here, site_of(cast), next_first, next_first + 27 * DAY))
        labels: dict[UUID, str] = dict(Household.objects.within(here).values_list("uid", "label"))
        minutes = {labels[one.household]: one.minutes for one in plan.loads}
        assert minutes == {"Flat 3": 420, "Flat 5": 0}


def test_a_household_that_moves_out_gives_its_later_duties_back_and_is_forgotten_with_them(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        up(here, look(here, cast))
        last_day = TODAY + 5 * DAY
        leaving = Leaving.from_raw({"uid": uuid4(), "last_day": last_day, "sure": "yes"})
        move_out(building=here, household=home(cast.resident), told=leaving, person=cast.resident, via="web", now=NOW)
        days = list(
            DutyAssignment.objects.within(here)
            .filter(household=home(cast.resident))
            .values_list("duty__day", flat=True)
        )
        assert all(day <= last_day for day in days)
        again(here, cast, "fewest", NOW)
        assert not Duty.objects.within(here).filter(assignments__isnull=True, day__gt=last_day).exists()


def test_a_look_takes_as_many_queries_for_many_households_and_duties_as_for_few(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast), usual=1)
        up(here, look(here, cast))
        with CaptureQueriesContext(connection) as few:
            gather(here, site_of(cast), FIRST, LAST, NOW)
    for number in range(6):
        newcomer(cast.building, f"Neighbour{number}", f"Flat {20 + number}", "resident")
    with inside(cast.building.uid) as here:
        for work in ("trays", "browns", "opening"):
            kind(here, site_of(cast), work)
        again(here, cast, "fairest", NOW)
        assert turning.duties.count() < Duty.objects.within(here).count()
        with CaptureQueriesContext(connection) as many:
            gather(here, site_of(cast), FIRST, LAST, NOW)
    assert len(few) == len(many) == 13


def test_putting_up_takes_as_many_queries_for_many_as_for_few(cast: Cast) -> None:
    counts = []
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), "opening", usual=1)
        for first, last in ((FIRST, FIRST + DAY), (FIRST + 2 * DAY, FIRST + 40 * DAY)):
            row = draft(here, site_of(cast), first, last)
            with CaptureQueriesContext(connection) as queries:
                up(here, row)
            counts.append(len(queries))
        assert DutyKind.objects.within(here).count() == 1
    assert counts[0] == counts[1]
