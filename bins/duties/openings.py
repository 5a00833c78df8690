"""A staffed opening that is short of people: whoever looks after the place is told three days ahead, once."""

import datetime as dt
from uuid import uuid5

from django.db.models import Count
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import override

from households.models import Building, Duty, DutyKind, Notice, Person, Role
from households.quiet import due_by_day

from .phase import begins

NAME = "short-opening"
AHEAD = dt.timedelta(hours=72)


def short_openings(building: Building, now: dt.datetime) -> list[Duty]:
    """Openings of the next 72 hours with fewer than they need, soonest first; `people`: how many come. One query."""
    today = building.local(now).date()
    found = (
        Duty.objects.within(building)
        .filter(kind__work=DutyKind.Work.OPENING, day__gte=today, day__lte=today + dt.timedelta(days=4))
        .filter(done_at__isnull=True, lapsed_at__isnull=True)
        .select_related("kind__site")
        .annotate(people=Count("assignments"))
        .order_by("day", "begins_at", "pk")
    )
    return [duty for duty in found if duty.people < duty.least and now < begins(building, duty) <= now + AHEAD]


def tell_if_short(building: Building, duty: Duty, now: dt.datetime) -> None:
    """Write to whoever looks after the place, by day, the first time an opening is found short.

    Call with the building locked, where the 72 hours begin, and wherever somebody drops out within them.
    """
    at = begins(building, duty)
    if duty.begins_at is None or duty.told_short_at is not None or not now < at <= now + AHEAD:
        return
    people = duty.assignments.count()
    if people >= duty.least:
        return
    duty.told_short_at = now
    duty.save(update_fields=["told_short_at"])
    for person in caretakers(building, now):
        assert person.account is not None
        with override(person.account.language):
            words = {"day": date_format(duty.day, "DATE_FORMAT"), "people": people, "least": duty.least}
            Notice.post(
                building=building,
                uid=uuid5(duty.uid, f"short {person.uid}"),
                kind="short-opening",
                to=person.account.email,
                subject=_("The opening on %(day)s is short of people") % words,
                body=_("People who come: %(people)s. Needed at least: %(least)s. Ask around, or call it off.") % words,
                due_at=due_by_day(building, now),
            )


def caretakers(building: Building, now: dt.datetime) -> list[Person]:
    """Who looks after the place today and has an account, in a fixed order. One query."""
    held = Role.objects.within(building).filter(kind=Role.Kind.CARETAKER).held_on(building.local(now).date())
    return list(
        Person.objects.within(building)
        .filter(pk__in=held.values("person"), account__is_active=True)
        .select_related("account")
        .order_by("pk")
    )
