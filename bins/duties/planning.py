"""The rota's problem, built from what the building has: its duties, who lives there, what is fixed and known."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID, uuid5

from django.db.models import Max, Q, Sum

from households.ledger import fingerprint
from households.models import (
    Absence,
    Building,
    Closure,
    Duty,
    DutyAssignment,
    DutyKind,
    DutyLimits,
    Household,
    Pin,
    RotaDue,
    RotaPlan,
    Site,
    TenantQuerySet,
    Wish,
)
from households.rota import problem as rota

from .kinds import days_of

DAY = dt.timedelta(days=1)
PERIOD_DAYS = 28  # chosen: long enough that duties even out, short enough that people know their weeks
LONGEST_DAYS = 93  # chosen: a quarter of a year


@dataclass(frozen=True)
class Occurrence:
    """A duty of the period, planned or to be planned. `uid` is the duty's own, made from its kind and day."""

    uid: UUID
    kind: DutyKind
    day: dt.date
    row: Duty | None


@dataclass(frozen=True)
class Gathered:
    """One period as it stands. `mark`: changes with anything that a plan rests on."""

    site: Site
    first: dt.date
    last: dt.date
    plan_number: int
    occurrences: dict[UUID, Occurrence]
    households: dict[UUID, Household]
    problem: rota.Problem
    mark: str


def occurrence_uid(kind: DutyKind, day: dt.date) -> UUID:
    return uuid5(kind.uid, f"duty {day.isoformat()}")


def gather(building: Building, site: Site, first: dt.date, last: dt.date, now: dt.datetime) -> Gathered:
    """Everything that a plan of these days rests on; thirteen queries however many duties and households there are."""
    today = building.local(now).date()
    kinds = list(DutyKind.objects.within(building).filter(site=site).order_by("pk"))
    rows = list(
        Duty.objects.within(building)
        .filter(kind__site=site, day__gte=first, day__lte=last, lapsed_at__isnull=True)
        .select_related("kind")
        .prefetch_related("assignments__household")
        .order_by("day", "pk")
    )
    homes = list(_living(building, site, first, last))
    frozen_before = today + site.duty_notice_days * DAY if rows else today
    occurrences = _occurrences(building, site, kinds, rows, first, last, frozen_before)
    frozen = {row.uid for row in rows if row.done_at is not None or row.day < frozen_before}
    by_pk = {home.pk: home for home in homes}
    pins, forbids = _pins(building, site, occurrences, by_pk, first, last)
    in_force = frozenset(rota.Cell(place.household.uid, row.uid) for row in rows for place in row.assignments.all())
    tasks = tuple(
        rota.Task(
            uid=one.uid,
            day=one.day,
            minutes=one.row.minutes if one.row else one.kind.minutes,
            least=one.row.least if one.row else one.kind.least,
            usual=max(one.row.usual, len(one.row.assignments.all()) if one.uid in frozen else 0)
            if one.row
            else one.kind.usual,
            heavy=one.row.is_heavy if one.row else one.kind.is_heavy,
        )
        for one in occurrences.values()
    )
    problem = rota.Problem(
        tasks=tasks,
        households=tuple(_households(building, site, homes, occurrences.values(), first, last)),
        pins=pins,
        forbids=forbids,
        days_apart=site.duty_days_apart,
        existing=rota.Existing(in_force, frozenset(frozen & set(occurrences))),
    )
    number: int = RotaPlan.objects.within(building).filter(site=site).aggregate(last=Max("number"))["last"] or 0
    return Gathered(
        site=site,
        first=first,
        last=last,
        plan_number=number,
        occurrences=occurrences,
        households={home.uid: home for home in homes},
        problem=problem,
        mark=mark_of(problem, number),
    )


def mark_of(problem: rota.Problem, plan_number: int) -> str:
    """A hash of all that a plan rests on, however it is ordered."""
    return fingerprint(
        {
            "plan": plan_number,
            "tasks": sorted(str(task) for task in problem.tasks),
            "households": sorted(
                str(
                    (h.uid, h.days_present, h.done_minutes, h.due_seconds, h.lifts, sorted(h.cannot), sorted(h.prefers))
                )
                for h in problem.households
            ),
            "pins": sorted(problem.pins),
            "forbids": sorted(problem.forbids),
            "existing": sorted(problem.existing.cells),
            "frozen": sorted(problem.existing.frozen),
            "apart": problem.days_apart,
        }
    )


def next_period(building: Building, site: Site, now: dt.datetime) -> tuple[dt.date, dt.date]:
    """The days to plan next: from the day after the last plan, or tomorrow, for four weeks."""
    last: dt.date | None = RotaPlan.objects.within(building).filter(site=site).aggregate(last=Max("last_on"))["last"]
    tomorrow = building.local(now).date() + DAY
    first = max(last + DAY, tomorrow) if last else tomorrow
    return first, first + (PERIOD_DAYS - 1) * DAY


def _living(building: Building, site: Site, first: dt.date, last: dt.date) -> Iterable[Household]:
    """Households that use a drum of the site, share its duties and live here on a day of the period."""
    return (
        Household.objects.within(building)
        .filter(assignment__drum__site=site, joined_on__lte=last)
        .filter(Q(left_on__isnull=True) | Q(left_on__gte=first))
        .exclude(duty_limits__stays_out=True)
        .order_by("pk")
    )


def _occurrences(
    building: Building, site: Site, kinds: list[DutyKind], rows: list[Duty], first: dt.date, last: dt.date,
    frozen_before: dt.date,
) -> dict[UUID, Occurrence]:  # fmt: skip
    """What stands and is frozen, and what the site's duties ask for on the other days.

    On closed days there is no opening; the drums are still turned.
    """
    closed = list(
        Closure.objects.within(building)
        .filter(site=site, first_day__lte=last)
        .filter(Q(last_day__gte=first) | Q(is_yearly=True))
    )
    standing = {row.uid: row for row in rows}
    found = {
        row.uid: Occurrence(row.uid, row.kind, row.day, row)
        for row in rows
        if row.done_at is not None or row.day < frozen_before
    }
    for kind in kinds:
        if not kind.is_on:
            continue
        for day in days_of(building, kind, max(first, frozen_before), last):
            if kind.work == DutyKind.Work.OPENING and any(one.covers(day) for one in closed):
                continue
            uid = occurrence_uid(kind, day)
            found.setdefault(uid, Occurrence(uid, kind, day, standing.get(uid)))
    return dict(sorted(found.items(), key=lambda item: (item[1].day, item[0])))


def _pins(
    building: Building, site: Site, occurrences: dict[UUID, Occurrence], homes: dict[int, Household],
    first: dt.date, last: dt.date,
) -> tuple[frozenset[rota.Cell], frozenset[rota.Cell]]:  # fmt: skip
    rows = Pin.objects.within(building).filter(kind__site=site, day__gte=first, day__lte=last).select_related("kind")
    found: dict[bool, set[rota.Cell]] = {True: set(), False: set()}
    for pin in rows:
        uid, home = occurrence_uid(pin.kind, pin.day), homes.get(pin.household_id)
        if uid in occurrences and home is not None:
            found[pin.is_forbidden].add(rota.Cell(home.uid, uid))
    return frozenset(found[False]), frozenset(found[True])


def _households(
    building: Building, site: Site, homes: list[Household], occurrences: Iterable[Occurrence],
    first: dt.date, last: dt.date,
) -> Iterable[rota.Household]:  # fmt: skip
    tasks = list(occurrences)
    away: defaultdict[int, set[dt.date]] = defaultdict(set)
    period = [first + n * DAY for n in range((last - first).days + 1)]
    for absence in Absence.objects.within(building).filter(first_day__lte=last, last_day__gte=first):
        away[absence.household_id] |= {day for day in period if absence.first_day <= day <= absence.last_day}
    wishes: defaultdict[tuple[int, str], set[int]] = defaultdict(set)
    for wish in Wish.objects.within(building).filter(duty_kind__site=site):
        wishes[wish.household_id, wish.answer].add(wish.duty_kind_id)
    limited = set(
        DutyLimits.objects.within(building)
        .filter(Q(cannot_lift=True) | Q(carry_for_me=True))
        .values_list("household", flat=True)
    )
    due = _sums(RotaDue.objects.within(building).filter(site=site, first_on__lt=first), "household", "seconds")
    done = _sums(
        DutyAssignment.objects.within(building).filter(duty__kind__site=site, duty__day__lt=first),
        "household",
        "duty__minutes",
    )
    for home in homes:
        here = {day for day in period if home.lives_here_on(day)} - away[home.pk]
        no, likes = wishes[home.pk, Wish.Answer.CANNOT], wishes[home.pk, Wish.Answer.PREFER]
        yield rota.Household(
            uid=home.uid,
            days_present=len(here),
            done_minutes=done.get(home.pk, 0),
            due_seconds=due.get(home.pk, 0),
            cannot=frozenset(task.uid for task in tasks if task.day not in here or task.kind.pk in no),
            prefers=frozenset(task.uid for task in tasks if task.kind.pk in likes),
            lifts=home.pk not in limited,
        )


def _sums(rows: TenantQuerySet, by: str, field: str) -> dict[int, int]:
    """Key of `by` -> the sum of a field. One query."""
    return dict(rows.order_by().values_list(by).annotate(sum=Sum(field)))
