"""Which batches went into one: whoever brought to any of them shares what comes out."""

from collections import defaultdict

from bins.models import Batch
from households.models import Building


def family(building: Building, batch: Batch) -> list[int]:
    """Keys of the batch and of all that were put together with it, also by way of others; one query."""
    parts: defaultdict[int, list[int]] = defaultdict(list)
    for key, into in Batch.objects.within(building).filter(merged_into__isnull=False).values_list("pk", "merged_into"):
        parts[into].append(key)
    found = [batch.pk]
    for key in found:
        found += parts[key]
    return found
