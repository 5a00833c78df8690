"""Duties ahead that want somebody else: whoever is down for them is away, has moved out or shares no duties any more,
or a place is empty."""

import datetime as dt

from django.db.models import Count, Exists, F, OuterRef, Q

from households.models import Absence, Building, Duty, DutyAssignment

AHEAD_DAYS = 28  # chosen: what is further off belongs to the next plan


def wanting(building: Building, now: dt.datetime) -> list[Duty]:
    """Soonest first, with kind and site. One query."""
    today = building.local(now).date()
    away = Absence.objects.within(building).filter(
        household=OuterRef("household"), first_day__lte=OuterRef("duty__day"), last_day__gte=OuterRef("duty__day")
    )
    cannot = (
        DutyAssignment.objects.within(building)
        .filter(duty=OuterRef("pk"))
        .filter(Exists(away) | Q(household__left_on__lt=F("duty__day")) | Q(household__duty_limits__stays_out=True))
    )
    return list(
        Duty.objects.within(building)
        .filter(day__gte=today, day__lte=today + dt.timedelta(days=AHEAD_DAYS))
        .filter(done_at__isnull=True, lapsed_at__isnull=True)
        .select_related("kind__site")
        .annotate(people=Count("assignments"))
        .filter(Exists(cannot) | Q(people__lt=F("least")))
        .order_by("day", "kind__work", "pk")
    )
