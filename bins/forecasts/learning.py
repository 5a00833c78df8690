"""What a site's own harvested lots have taught the physical model about the next one."""

import datetime as dt
from collections import defaultdict
from uuid import UUID, uuid5

from bins.models import Batch, ForecastLesson
from bins.process.model.border import Hindcast, Kept
from bins.process.model.border import Site as Prior
from bins.process.model.state import VERSION
from households.models import Building


def learnt_of(building: Building) -> defaultdict[int, list[tuple[dt.datetime, Hindcast]]]:
    """What each site's harvested lots have taught, by the site's key, with the instant of their end. One query.

    Lessons of another version of the model are passed over: its parameters meant other things.
    """
    found: defaultdict[int, list[tuple[dt.datetime, Hindcast]]] = defaultdict(list)
    rows = ForecastLesson.objects.within(building).filter(version=VERSION, batch__ended_at__isnull=False)
    for row in rows.select_related("batch__drum").order_by("batch__ended_at", "batch__uid"):
        prior = Prior(tuple(row.began["shift"]), tuple(row.began["width"]), row.began["batches"])
        kept = Kept(row.day, row.version, b"")
        taught = Hindcast(kept, 0.0, 1.0, 0.0, tuple(row.shift), tuple(row.width), prior)
        found[row.batch.drum.site_id].append((row.batch.ended_at, taught))
    return found


def taught(building: Building) -> set[int]:
    """Keys of lots that have taught already. One query."""
    return set(ForecastLesson.objects.within(building).values_list("batch", flat=True))


def learn(building: Building, batch: Batch, past: Hindcast, name_space: UUID) -> None:
    """Keep what a harvested lot, lived up to its end, has taught."""
    began = {"shift": list(past.site.shift), "width": list(past.site.width), "batches": past.site.batches}
    ForecastLesson.objects.update_or_create(
        building=building,
        batch=batch,
        defaults={
            "uid": uuid5(name_space, f"lesson {batch.uid}"),
            "day": past.kept.day,
            "version": past.kept.version,
            "shift": list(past.shift),
            "width": list(past.width),
            "began": began,
        },
    )
