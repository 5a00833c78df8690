"""What one household did for a lot, and whether by the lot's rule that is taking part. For its own eyes."""

from dataclasses import dataclass

from django.db.models import Count, Sum

from bins.care.lineage import family
from bins.harvests.browns_brought import browns_brought
from bins.harvests.care_minutes import minutes_of_care
from bins.harvests.took_part import STANDS, weights
from bins.models import Batch, Contribution, Harvest
from households.models import Building, Household


@dataclass(frozen=True)
class PartTaken:
    """Standing drop-offs and their grams of scraps, set minutes of care, millilitres of browns brought."""

    takes_part: bool
    drop_offs: int
    scraps_g: int
    care_minutes: int
    browns_ml: int


def part_taken(building: Building, harvest: Harvest, household: Household) -> PartTaken:
    """A household's own part in the lot of a harvest, and in those it was put together from; ten queries."""
    batch = harvest.batch
    lots = list(Batch.objects.within(building).filter(pk__in=family(building, batch)))
    own = Contribution.objects.within(building).filter(STANDS, batch__in=lots, attribution__household=household)
    sums = own.aggregate(times=Count("pk"), grams=Sum("scraps_g"))
    return PartTaken(
        takes_part=weights(building, harvest).get(household.uid, 0) > 0,
        drop_offs=sums["times"],
        scraps_g=sums["grams"] or 0,
        care_minutes=minutes_of_care(building, batch, lots).get(household.uid, 0),
        browns_ml=browns_brought(building, batch, lots).get(household.uid, 0),
    )
