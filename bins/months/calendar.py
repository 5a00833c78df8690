"""Calendar months in a building's own time zone, named by their first day."""

import datetime as dt

from django.db.models import Q

from households.models import Building


def after(first_day: dt.date) -> dt.date:
    return (first_day + dt.timedelta(days=32)).replace(day=1)


def before(first_day: dt.date) -> dt.date:
    return (first_day - dt.timedelta(days=1)).replace(day=1)


def span(building: Building, first_day: dt.date) -> Q:
    """Ledger rows that count in the month."""
    return Q(counts_at__gte=building.instant(first_day), counts_at__lt=building.instant(after(first_day)))
