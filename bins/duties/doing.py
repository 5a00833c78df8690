"""A duty is done, taken by somebody else, or lapses. Nobody's misses are counted, and none are kept."""

import datetime as dt
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.records import Refused
from households.ledger import open_ledger
from households.models import (
    Building,
    Cover,
    CoverOffer,
    CoverTaking,
    Duty,
    DutyAssignment,
    DutyKind,
    DutyLimits,
    Household,
    Pin,
    RotaDraft,
    RotaDue,
)

from .openings import tell_if_short
from .phase import Phase, first_day_not_over, is_past, phase


def finish(*, building: Building, duty_uid: UUID, household: Household | None, now: dt.datetime) -> Duty:
    """Write down that a duty was done. `household`: whose word it is; None for the caretaker's.

    Doing it twice changes nothing. Raises Duty.DoesNotExist for one of another building or household, Refused
    before its day and once it is over.
    """
    with open_ledger(building):
        duty = _duty(building, duty_uid)
        if household is not None and not duty.assignments.filter(household=household).exists():
            raise Duty.DoesNotExist
        if duty.done_at is not None:
            return duty
        today = building.local(now).date()
        if duty.day > today:
            raise Refused({"duty": _("Its day has not come yet. Nothing was changed.")})
        if phase(duty, today) is Phase.OVER:
            raise Refused({"duty": _("That is too long ago to matter now. Nothing was changed.")})
        _done(duty, now)
    return duty


def take(*, building: Building, duty_uid: UUID, household: Household, now: dt.datetime) -> Duty:
    """Take a free place of a duty to come; or say of one that is open to all: we did it. Of two, one wins.

    What was open to all is credited to whoever did it, and nothing remembers who had been asked. Raises
    Duty.DoesNotExist for one of another building, Refused where nothing is free.
    """
    with open_ledger(building):
        duty = _duty(building, duty_uid)
        today = building.local(now).date()
        where = phase(duty, today)
        taken = {row.number: row.household_id for row in duty.assignments.all()}
        if where is Phase.OPEN:
            duty.assignments.all().delete()
            _place(duty, 1, household)
            _done(duty, now)
            return duty
        if household.pk in taken.values():
            return duty
        free = next((number for number in range(1, duty.usual + 1) if number not in taken), None)
        if where is not Phase.PLANNED or free is None or is_past(building, duty, now):
            raise Refused({"duty": _("Somebody else was quicker, or it is over. Nothing was changed.")})
        _place(duty, free, household)
    return duty


def turning_done(building: Building, household_pk: int | None, site_pk: int, at: dt.datetime) -> None:
    """A household turned a drum: its turning duty of that local day is done. Call with the building locked."""
    if household_pk is not None:
        own = DutyAssignment.objects.within(building).filter(
            household=household_pk,
            duty__day=building.local(at).date(),
            duty__kind__site=site_pk,
            duty__kind__work=DutyKind.Work.TURNING,
        )
        waiting = Duty.objects.within(building).filter(done_at__isnull=True, lapsed_at__isnull=True)
        waiting.filter(pk__in=own.values("duty")).update(done_at=at)


def not_done(building: Building, today: dt.date) -> list[Duty]:
    """Duties of the days before that may still be done, oldest first, with their kind and site. One query."""
    return list(
        Duty.objects.within(building)
        .filter(day__gte=first_day_not_over(today), day__lt=today, done_at__isnull=True, lapsed_at__isnull=True)
        .select_related("kind__site")
        .order_by("day", "kind__work", "pk")
    )


def lapse(building: Building, now: dt.datetime) -> None:
    """Let go of what is too late to matter, and of who was to do it. Call with the building locked."""
    over = Duty.objects.within(building).filter(
        day__lt=first_day_not_over(building.local(now).date()), done_at__isnull=True, lapsed_at__isnull=True
    )
    DutyAssignment.objects.within(building).filter(duty__in=over).delete()
    over.update(lapsed_at=now)


def give_back(building: Building, household: Household, after: dt.date, now: dt.datetime) -> None:
    """A household moves out: its duties after its last day are free. Call with the building locked."""
    places = DutyAssignment.objects.within(building).filter(household=household, duty__day__gt=after)
    duties = list(Duty.objects.within(building).filter(pk__in=places.values("duty")).order_by("pk"))
    places.delete()
    asked = Cover.objects.within(building).filter(household=household, duty__day__gt=after, closed_at__isnull=True)
    asked.update(closed_at=now)
    for duty in duties:
        tell_if_short(building, duty, now)


def forget(building: Building, household: Household) -> None:
    """Delete what duties say of a household that is gone. Call with the building locked."""
    for model in (DutyAssignment, DutyLimits, RotaDue, Pin, Cover, CoverOffer, CoverTaking):
        model.objects.within(building).filter(household=household).delete()
    RotaDraft.objects.within(building).delete()  # plans that nobody put up: the household may stand in each


def _duty(building: Building, uid: UUID) -> Duty:
    duty: Duty = Duty.objects.within(building).select_related("kind__site").get(uid=uid)
    return duty


def _done(duty: Duty, now: dt.datetime) -> None:
    duty.done_at = now
    duty.save(update_fields=["done_at"])


def _place(duty: Duty, number: int, household: Household) -> None:
    DutyAssignment.objects.create(
        building_id=duty.building_id,
        uid=uuid5(duty.uid, f"{number} {household.uid}"),
        duty=duty,
        number=number,
        household=household,
    )
