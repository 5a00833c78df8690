"""How a building stands, for the organisation that looks after it: taken by its night, and kept with it.

An organisation has hundreds of buildings, and no page can go into each: what it reads across them stands in the
buildings' own rows.
"""

import datetime as dt
from dataclasses import asdict

from django.db.models import Count, Max, Min, Q, Sum

from bins.models import Batch, Case, Contribution, Decision, Drum, Visit
from bins.process.alive import Signs, is_alive, needs, rank
from households.models import Building, Household

STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)
LATELY = dt.timedelta(days=28)  # chosen: four whole weeks, so that no weekday weighs more


def signs_of(building: Building, at: dt.datetime) -> Signs:
    """What the record says at an instant; six queries."""
    came = Contribution.objects.within(building).filter(STANDS, counts_at__lte=at).aggregate(last=Max("counts_at"))
    seen = Visit.objects.within(building).filter(STANDS, counts_at__lte=at).aggregate(last=Max("counts_at"))
    batches = Batch.objects.within(building).aggregate(
        first=Min("opened_at", filter=Q(opened_at__lte=at)),
        filling=Count(
            "pk",
            filter=Q(stage="filling", drum__state=Drum.State.IN_SERVICE, place__is_quarantined=False),
        ),
    )
    late = Case.objects.within(building).filter(first_action_at__isnull=True, answer_by__lt=at).count()
    waiting = Decision.objects.within(building).proposed().aggregate(oldest=Min("made_at"))
    return Signs(
        days_of_record=_days(building, batches["first"], at) or 0,
        drums_in_use=Drum.objects.within(building).filter(state=Drum.State.IN_SERVICE).count(),
        open_hatches=batches["filling"],
        days_since_drop_off=_days(building, came["last"], at),
        days_since_visit=_days(building, seen["last"], at),
        late_reports=late,
        oldest_task_days=_days(building, waiting["oldest"], at),
    )


def take_pulse(building: Building, at: dt.datetime) -> None:
    """Keep how the building stands at an instant, with the totals of the last four weeks. Call with it locked."""
    signs = signs_of(building, at)
    found = needs(signs)
    rows = Contribution.objects.within(building).filter(counts_at__gt=at - LATELY, counts_at__lte=at)
    sums = rows.aggregate(grams=Sum("scraps_g"), times=Count("pk", filter=STANDS))
    living = Household.objects.within(building).living_on(building.local(at).date()).count()
    building.need, building.is_alive = rank(found), is_alive(signs)
    building.pulse = asdict(signs) | {
        "needs": [str(need) for need in found],
        "scraps_g": sums["grams"] or 0,
        "drop_offs": sums["times"],
        "living_here": living,
    }
    building.pulse_at = at
    building.save(update_fields=["need", "is_alive", "pulse", "pulse_at"])


def _days(building: Building, then: dt.datetime | None, at: dt.datetime) -> int | None:
    """Whole days of the building's calendar since an instant; 0 for one that has not come yet."""
    if then is None:
        return None
    return max(0, (building.local(at).date() - building.local(then).date()).days)
