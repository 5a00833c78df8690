"""Reads of duties: a household's own, and this week's for whoever looks after the place."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, F, Q, Sum

from households.models import (
    Building,
    Cover,
    Duty,
    DutyAssignment,
    DutyKind,
    Household,
    Person,
    RotaDue,
    RotaPlan,
    Site,
)

from .phase import OPEN_DAYS, Phase, begins, is_past, phase

FREE_AHEAD_DAYS = 14  # chosen: nearer than that, an empty place wants somebody
FEWEST_SHOWN = 5  # of fewer households, two could tell what the third did


@dataclass(frozen=True)
class OwnDuty:
    """One duty of a household. `begins_at` is an instant, or None for any time of the day."""

    duty: Duty
    begins_at: dt.datetime | None
    phase: Phase
    is_asked: bool  # the household has asked for cover and nobody has taken it yet
    others: int  # how many do it too


def duties_of(
    building: Building, household: Household, first: dt.date, last: dt.date, now: dt.datetime
) -> list[OwnDuty]:
    """A household's duties from a day to a day, both counted, with their kind; soonest first. Three queries.

    Nobody else's name is in them.
    """
    today = building.local(now).date()
    rows = list(
        DutyAssignment.objects.within(building)
        .filter(household=household, duty__day__gte=first, duty__day__lte=last)
        .select_related("duty__kind__site")
        .prefetch_related("duty__assignments")
        .order_by("duty__day", "duty__begins_at", "duty__pk")
    )
    asked = set(
        Cover.objects.within(building)
        .filter(household=household, closed_at__isnull=True)
        .values_list("duty", flat=True)
    )
    return [
        OwnDuty(
            duty=row.duty,
            begins_at=begins(building, row.duty) if row.duty.begins_at else None,
            phase=phase(row.duty, today),
            is_asked=row.duty_id in asked,
            others=len(row.duty.assignments.all()) - 1,
        )
        for row in rows
    ]


@dataclass(frozen=True)
class WeekDuty:
    """One duty of the week as the caretaker sees it: first names, no flats."""

    duty: Duty
    phase: Phase
    names: tuple[str, ...]


def duties_by_first_name(building: Building, first: dt.date, last: dt.date, now: dt.datetime) -> list[WeekDuty]:
    """All duties from a day to a day, both counted, with first names; soonest first. Four queries."""
    today = building.local(now).date()
    duties = list(
        Duty.objects.within(building)
        .filter(day__gte=first, day__lte=last)
        .select_related("kind__site")
        .prefetch_related("assignments__household")
        .order_by("day", "begins_at", "kind__work", "pk")
    )
    names = names_of(building)
    return [
        WeekDuty(
            duty,
            phase(duty, today),
            tuple(
                names.get(row.household_id) or row.household.label
                for row in sorted(duty.assignments.all(), key=lambda one: one.number)
            ),
        )
        for duty in duties
    ]


def names_of(building: Building) -> dict[int, str]:
    """Household key -> first names of its people. One query."""
    found: dict[int, list[str]] = {}
    people = Person.objects.within(building).filter(household__isnull=False).order_by("pk")
    for household, name in people.values_list("household", "name"):
        found.setdefault(household, []).extend(name.split()[:1])
    return {household: ", ".join(names) for household, names in found.items()}


def free_duties(building: Building, site: Site, household: Household, now: dt.datetime) -> list[Duty]:
    """What a household could take: duties of the next two weeks with fewer people than they need, and what wasn't done
    yesterday. `people`: how many are on it. One query."""
    today = building.local(now).date()
    short = Q(day__gte=today, day__lte=today + dt.timedelta(days=FREE_AHEAD_DAYS), people__lt=F("least"))
    left = Q(day__lt=today, day__gte=today - dt.timedelta(days=OPEN_DAYS)) & ~Q(kind__work=DutyKind.Work.OPENING)
    rows = (
        Duty.objects.within(building)
        .filter(kind__site=site, done_at__isnull=True, lapsed_at__isnull=True)
        .select_related("kind")
        .annotate(people=Count("assignments"), own=Count("assignments", filter=Q(assignments__household=household)))
        .filter(short | left, own=0)
        .order_by("day", "begins_at", "pk")
    )
    return [row for row in rows if row.day < today or not is_past(building, row, now)]


def shares_of_work(building: Building, site: Site, day: dt.date) -> list[int]:
    """Minutes of each household in the plan of a day, or the next one: sorted, so that nobody can tell whose they are.

    Nothing of fewer than five households. Three queries.
    """
    plans = RotaPlan.objects.within(building).filter(site=site, last_on__gte=day).order_by("first_on")
    first = plans.values_list("first_on", flat=True).first()
    homes = RotaDue.objects.within(building).filter(site=site, first_on=first).values_list("household", flat=True)
    if len(homes) < FEWEST_SHOWN:
        return []
    done = dict(
        DutyAssignment.objects.within(building)
        .filter(duty__kind__site=site, duty__plan__first_on=first)
        .order_by()
        .values_list("household")
        .annotate(Sum("duty__minutes"))
    )
    return sorted(done.get(home, 0) for home in homes)
