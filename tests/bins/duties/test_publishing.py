"""A plan is put up as it was looked at, whole or not at all, and planned again so that little changes."""

import datetime as dt
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bins.duties.limits import LimitsTold, set_limits
from bins.duties.pinning import CellTold, set_cell
from bins.duties.planning import gather, next_period
from bins.duties.publishing import PlanTold, Preview, plan_again, plans_ahead, preview, publish, ways_again
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
    RotaDue,
    RotaPlan,
)
from households.rota.plan import Infeasible, Plan
from households.rota.planning import solve
from households.rota.problem import Problem
from households.tenancy import inside
from tests.cast import NOW, Cast, newcomer

from .planned import DAY, TODAY, home, kind, site_of, who

pytestmark = pytest.mark.embedded

FIRST, LAST = TODAY + DAY, TODAY + 28 * DAY


def look(here: Building, cast: Cast, now: dt.datetime = NOW) -> Preview:
    return preview(here, site_of(cast), FIRST, LAST, now)


def told(mark: str, **raw: object) -> PlanTold:
    values: dict[str, Any] = {"uid": uuid4(), "first": FIRST, "last": LAST, "mark": mark} | raw
    return PlanTold.from_raw(values, TODAY, again="way" in raw)


def put_up(here: Building, cast: Cast, now: dt.datetime = NOW) -> RotaPlan:
    return publish(
        building=here,
        site=site_of(cast),
        told=told(look(here, cast, now).mark),
        person=cast.caretaker,
        now=now,
    )


def again(here: Building, cast: Cast, way: str, now: dt.datetime) -> RotaPlan:
    (plan,) = plans_ahead(here, site_of(cast), here.local(now).date())
    return plan_again(
        building=here, site=site_of(cast), told=told(ways_again(here, plan, now).mark(way), way=way),
        person=cast.caretaker, now=now,
    )  # fmt: skip


def loads(here: Building) -> dict[str, int]:
    found: dict[str, int] = {}
    for label, minutes in DutyAssignment.objects.within(here).values_list("household__label", "duty__minutes"):
        found[label] = found.get(label, 0) + minutes
    return found


def test_four_weeks_from_tomorrow_are_planned_first_and_then_from_the_day_after_the_last_plan(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        assert next_period(here, site_of(cast), NOW) == (FIRST, LAST)
        kind(here, site_of(cast), usual=1)
        put_up(here, cast)
        assert next_period(here, site_of(cast), NOW) == (LAST + DAY, LAST + 28 * DAY)


def test_what_is_put_up_is_what_was_looked_at_and_the_work_is_even(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast), usual=1)
        seen = look(here, cast)
        assert isinstance(seen.outcome, Plan)
        row = put_up(here, cast)
        assert {(p.household.uid, p.duty.uid) for p in DutyAssignment.objects.within(here)} == {
            (cell.household, cell.task) for cell in seen.outcome.cells
        }
        assert Duty.objects.within(here).filter(kind=turning, plan=row).count() == 28
        # 28 turns of 15 minutes for two households that are there all the time.
        assert loads(here) == {"Flat 3": 210, "Flat 5": 210}
        assert (row.number, row.way, bool(row.levels)) == (1, "published", True)
        assert sorted(RotaDue.objects.within(here).values_list("seconds", flat=True)) == [12600, 12600]


def test_the_same_form_twice_is_one_plan_and_other_values_are_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        form = told(look(here, cast).mark)
        first = publish(building=here, site=site_of(cast), told=form, person=cast.caretaker, now=NOW)
        second = publish(building=here, site=site_of(cast), told=form, person=cast.caretaker, now=NOW)
        assert first.pk == second.pk
        other = PlanTold(form.uid, form.first, form.last - DAY, form.mark)
        with pytest.raises(UidReused):
            publish(building=here, site=site_of(cast), told=other, person=cast.caretaker, now=NOW)


def test_nothing_is_put_up_on_an_old_look_or_over_another_plan(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning = kind(here, site_of(cast), usual=1)
        old = look(here, cast).mark
        Absence.objects.create(building=here, household=home(cast.resident), first_day=FIRST, last_day=FIRST)
        with pytest.raises(Refused) as refused:
            publish(building=here, site=site_of(cast), told=told(old), person=None, now=NOW)
        assert [*refused.value.errors] == ["mark"]
        assert not Duty.objects.within(here).exists()
        put_up(here, cast)
        for first, last in ((FIRST - DAY, FIRST), (LAST, LAST + DAY), (FIRST + DAY, FIRST + DAY)):
            with pytest.raises(Refused) as refused:
                publish(
                    building=here, site=site_of(cast), person=None, now=NOW,
                    told=told(preview(here, site_of(cast), first, last, NOW).mark, first=first, last=last),
                )  # fmt: skip
            assert [*refused.value.errors] == ["first"]
        assert Duty.objects.within(here).filter(kind=turning).count() == 28


def test_what_changes_between_look_and_lock_is_gathered_again(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        form = told(look(here, cast).mark)
        solved: list[Problem] = []

        def slowly(problem: Problem) -> Plan | Infeasible:
            if not solved:
                Absence.objects.create(building=here, household=home(cast.resident), first_day=FIRST, last_day=FIRST)
            solved.append(problem)
            return solve(problem)

        monkeypatch.setattr("bins.duties.publishing.solve", slowly)
        with pytest.raises(Refused) as refused:
            publish(building=here, site=site_of(cast), told=form, person=None, now=NOW)
        assert ([*refused.value.errors], len(solved)) == (["mark"], 1)
        assert not Duty.objects.within(here).exists()


def test_whoever_cannot_lift_gets_light_duties_and_an_absence_is_a_plain_cannot(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        turning, trays = kind(here, site_of(cast), usual=1), kind(here, site_of(cast), "trays", usual=1)
        set_limits(building=here, household=home(cast.resident), told=LimitsTold(True, False))
        Absence.objects.create(building=here, household=home(cast.neighbour), first_day=FIRST, last_day=FIRST)
        seen = look(here, cast)
        # On the first day nobody is left who turns: named, with what would free it.
        assert isinstance(seen.outcome, Infeasible)
        assert [seen.gathered.occurrences[uid].day for uid in seen.outcome.tasks] == [FIRST]
        assert seen.outcome.ways
        with pytest.raises(Refused):
            put_up(here, cast)
        assert not Duty.objects.within(here).exists()
        Absence.objects.all().delete()
        put_up(here, cast)
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
        put_up(here, cast)
        rows = Duty.objects.within(here).order_by("day")[:8]
        assert [who(row) for row in rows] == [["Flat 5"], ["Flat 3"]] * 4


def test_there_is_no_opening_on_closed_days_and_the_drums_are_turned_all_the_same(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        kind(here, site_of(cast), "opening", usual=1)
        Closure.objects.create(building=here, site=site_of(cast), first_day=FIRST, last_day=FIRST + DAY, words="works")
        put_up(here, cast)
        days = Duty.objects.within(here).order_by("day").values_list("day", flat=True)
        assert min(days.filter(kind__work="opening")) == FIRST + 2 * DAY
        assert min(days.filter(kind__work="turning")) == FIRST
        # Each opening is looked at 72 hours before it begins at 17:00 in Berlin.
        wakes = sorted(Job.objects.filter(name="short-opening").values_list("wake_at", flat=True))
        assert (len(wakes), wakes[0]) == (26, dt.datetime(2026, 5, 4, 15, 0, tzinfo=dt.UTC))


def test_planned_again_after_an_absence_only_what_is_further_than_the_notice_changes(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        put_up(here, cast)
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
        put_up(here, cast)
        Duty.objects.within(here).filter(day__gte=TODAY + 20 * DAY, day__lte=TODAY + 21 * DAY).update(done_at=later)
        kept = {row.day: who(row) for row in Duty.objects.within(here) if row.done_at or row.day < TODAY + 13 * DAY}
    newcomer(cast.building, "Farida", "Flat 7", "resident")
    with inside(cast.building.uid) as here:
        Household.objects.within(here).filter(label="Flat 7").update(joined_on=TODAY + 10 * DAY)
        (plan,) = plans_ahead(here, site_of(cast), TODAY + 10 * DAY)
        found = ways_again(here, plan, later)
        assert not isinstance(found.outcome, Infeasible)
        ways = (found.outcome.fewest, found.outcome.halfway, found.outcome.fairest)
        assert len(ways[0].changed) <= len(ways[2].changed)
        again(here, cast, "fairest", later)
        after = {row.day: who(row) for row in Duty.objects.within(here)}
        assert {day: after[day] for day in kept} == kept
        assert loads(here).get("Flat 7", 0) > 0


def test_a_plan_made_again_ends_requests_for_duties_that_are_somebody_elses_now(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        put_up(here, cast)
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
        put_up(here, cast)
        DutyAssignment.objects.within(here).filter(household=home(cast.resident)).update(household=home(cast.neighbour))
        first = loads(here)
        assert first == {"Flat 5": 420}
        next_first = LAST + DAY
        seen = preview(here, site_of(cast), next_first, next_first + 27 * DAY, NOW)
        assert isinstance(seen.outcome, Plan)
        minutes = {seen.gathered.households[one.household].label: one.minutes for one in seen.outcome.loads}
        assert minutes == {"Flat 3": 420, "Flat 5": 0}


def test_a_household_that_moves_out_gives_its_later_duties_back_and_is_forgotten_with_them(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        kind(here, site_of(cast), usual=1)
        put_up(here, cast)
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
        put_up(here, cast)
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
            mark = preview(here, site_of(cast), first, last, NOW).mark
            form = told(mark, first=first, last=last)
            with CaptureQueriesContext(connection) as queries:
                publish(building=here, site=site_of(cast), told=form, person=cast.caretaker, now=NOW)
            counts.append(len(queries))
        assert DutyKind.objects.within(here).count() == 1
    assert counts[0] == counts[1]
