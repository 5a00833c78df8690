"""A household's duties as its calendars know them, and the word on the day before."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID, uuid5

from bins.duties.phase import begins
from bins.people import tidy
from bins.slots.booking import KEPT_AFTER
from households import reminders
from households.models import Building, Duty, DutyAssignment, DutyEntry, Household, Reminder

NOON = dt.time(12, 0)


@dataclass(frozen=True)
class Entry:
    """One duty in a household's calendar. `begins_at` is None for any time of its day."""

    uid: UUID
    duty: Duty
    begins_at: dt.datetime | None
    is_cancelled: bool
    sequence: int
    changed_at: dt.datetime


def uid_of(duty: Duty, household: Household) -> UUID:
    """The name of the pair, for calendars and reminders: the same when the duty comes back."""
    return uuid5(duty.uid, str(household.uid))


def entries_of(building: Building, household: Household, first: dt.date, now: dt.datetime) -> list[Entry]:
    """The household's entries from a day on: what it has, and what it had and gave away. Two queries, no write."""
    stored = {
        row.duty_id: row
        for row in DutyEntry.objects.within(building)
        .filter(household=household, duty__day__gte=first)
        .select_related("duty__kind__site")
    }
    held = [
        row.duty
        for row in DutyAssignment.objects.within(building)
        .filter(household=household, duty__day__gte=first)
        .select_related("duty__kind__site")
    ]
    today = building.local(now).date()
    found = [_entry(building, household, duty, stored.pop(duty.pk, None), True, now) for duty in held]
    # What was done or has lapsed is no longer held by anybody: that takes nothing out of a calendar.
    found += [_entry(building, household, row.duty, row, row.duty.day < today, now) for row in stored.values()]
    return sorted(found, key=lambda entry: (entry.duty.day, str(entry.uid)))


def settle(building: Building, now: dt.datetime) -> None:
    """Write down what calendars are told from now on, and promise a word for tomorrow's duties.

    Doing so again changes nothing. Call with the building locked.
    """
    today = building.local(now).date()
    stored = {
        (row.duty_id, row.household_id): row
        for row in DutyEntry.objects.within(building).filter(duty__day__gte=today).select_related("duty", "household")
    }
    held = list(
        DutyAssignment.objects.within(building)
        .filter(duty__day__gte=today)
        .select_related("duty__kind", "household")
        .order_by("duty__day", "pk")
    )
    for row in held:
        duty, household = row.duty, row.household
        _store(building, household, duty, stored.pop((duty.pk, household.pk), None), held=True, now=now)
        if duty.day == today + dt.timedelta(days=1) and duty.done_at is None:
            at = begins(building, duty) if duty.begins_at else building.instant(duty.day, NOON)
            reminders.remind(
                building, household, Reminder.Kind.DUTY, about=uid_of(duty, household), begins_at=at,
                due_at=reminders.the_day_before(building, at),
                figures={"work": duty.kind.work, "timed": duty.begins_at is not None},
            )  # fmt: skip
    for entry in stored.values():
        _store(building, entry.household, entry.duty, entry, held=False, now=now)


def given_away(building: Building, names: Iterable[UUID]) -> set[UUID]:
    """Of these pairs of duty and household, those that are none any more."""
    wanted = set(names)
    if not wanted:
        return set()
    held = (
        DutyAssignment.objects.within(building).filter(duty__done_at__isnull=True).select_related("duty", "household")
    )
    return wanted - {uid_of(row.duty, row.household) for row in held}


def _entry(
    building: Building, household: Household, duty: Duty, stored: DutyEntry | None, held: bool, now: dt.datetime
) -> Entry:
    begins_at = begins(building, duty) if duty.begins_at else None
    sequence, changed_at = 0, building.instant(building.local(now).date())
    if stored is not None:
        moved = _differs(stored, duty, held)
        sequence, changed_at = stored.sequence + moved, now if moved else stored.changed_at
    return Entry(uid_of(duty, household), duty, begins_at, not held, sequence, changed_at)


def _differs(stored: DutyEntry, duty: Duty, held: bool) -> bool:
    return (stored.begins_at, stored.minutes, stored.is_cancelled) != (duty.begins_at, duty.minutes, not held)


def _store(
    building: Building, household: Household, duty: Duty, stored: DutyEntry | None, *, held: bool, now: dt.datetime
) -> None:
    if stored is None:
        DutyEntry.objects.create(
            building=building, uid=uid_of(duty, household), duty=duty, household=household, begins_at=duty.begins_at,
            minutes=duty.minutes, changed_at=now,
        )  # fmt: skip
        tidy.promise(building, duty.day + KEPT_AFTER + dt.timedelta(days=1))
    elif _differs(stored, duty, held):
        stored.begins_at, stored.minutes, stored.is_cancelled = duty.begins_at, duty.minutes, not held
        stored.sequence, stored.changed_at = stored.sequence + 1, now
        stored.save()
