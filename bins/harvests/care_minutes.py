"""How many minutes of care each household gave to a batch: what the rule by care work goes by.

Minutes are set, never measured: a visit counts for what the batch's rule says, a duty for what was planned. Nobody is
asked how long it took, so slow hands earn as much as quick ones.
"""

from collections import Counter
from uuid import UUID

from django.db.models import Q

from bins.models import Batch, Visit
from households.models import Building, DutyAssignment

STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)


def minutes_of_care(building: Building, batch: Batch, lots: list[Batch]) -> dict[UUID, int]:
    """Household -> minutes, above 0, for `batch` and the lots that it is made of; two queries.

    Each standing visit to a lot's drum while the lot lived counts for the batch's own minutes; each duty that was
    done at its site on one of those days for its own. On a day with a duty of its own done, a household's visits are
    part of that duty and count for nothing more. Lots from before the record earn nobody anything.
    """
    lots = [lot for lot in lots if not lot.from_record]
    if not lots:
        return {}
    span = Q()
    for lot in lots:
        lived = Q(drum=lot.drum_id, counts_at__gte=lot.opened_at)
        span |= lived & Q(counts_at__lte=lot.ended_at) if lot.ended_at else lived
    first = building.local(min(lot.opened_at for lot in lots)).date()
    ends = [lot.ended_at for lot in lots]
    duties = DutyAssignment.objects.within(building).filter(
        duty__done_at__isnull=False, duty__kind__site__drums=batch.drum_id, duty__day__gte=first
    )
    if None not in ends:
        duties = duties.filter(duty__day__lte=building.local(max(end for end in ends if end)).date())
    minutes: Counter[UUID] = Counter()
    on_duty = set()
    for household, day, set_minutes in duties.values_list("household__uid", "duty__day", "duty__minutes"):
        minutes[household] += set_minutes
        on_duty.add((household, day))
    visits = Visit.objects.within(building).filter(STANDS, span, attribution__household__isnull=False)
    for household, at in visits.values_list("attribution__household__uid", "counts_at"):
        if (household, building.local(at).date()) not in on_duty:
            minutes[household] += batch.minutes_a_visit
    return dict(minutes)
