"""What the chamber rules look at, read from the books as of an instant in a fixed number of queries."""

import datetime as dt
from collections import defaultdict
from uuid import UUID

from bins.models import Batch, Drum, Place, Reading, StageChange
from bins.process.reading import LevelReading
from bins.process.site import INDOOR_AIR_C, TEMPERATE_AIR_C, SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, DrumState, PlaceKind, PlaceSnapshot
from bins.process.stage import Stage
from households.models import Building, Site


def gather_drums(
    building: Building, as_of: dt.datetime, only: Drum | None = None
) -> tuple[tuple[Site, tuple[DrumSnapshot, ...]], ...]:
    """Each site with its drums' snapshots, by uid; five queries however many drums there are.

    Rows that count later than `as_of` are left out, so that a night that was missed decides as it would have.
    """
    drums = Drum.objects.within(building).select_related("site").order_by("uid")
    if only is not None:
        drums = drums.filter(pk=only.pk)
    places: defaultdict[int, list[Place]] = defaultdict(list)
    for place in Place.objects.within(building).filter(drum__isnull=False).order_by("letter"):
        places[place.drum_id].append(place)
    batches: defaultdict[int, list[Batch]] = defaultdict(list)
    for batch in Batch.objects.within(building).live().filter(opened_at__lte=as_of).select_related("place"):
        batches[batch.drum_id].append(batch)
    levels: defaultdict[int, list[LevelReading]] = defaultdict(list)
    readings = Reading.objects.within(building).filter(
        counts_at__lte=as_of, reverses__isnull=True, reversed_by__isnull=True, kind=Reading.Kind.LEVEL_PERCENT
    )
    for reading in readings.filter(batch__ended_at__isnull=True).select_related("visit"):
        levels[reading.batch_id].append(LevelReading(reading.counts_at, reading.value, reading.visit.turned))
    since: dict[tuple[int, str], dt.datetime] = {}
    for change in StageChange.objects.within(building).filter(batch__ended_at__isnull=True).order_by("counts_at"):
        since[change.batch_id, change.to_stage] = change.counts_at

    found: defaultdict[UUID, list[DrumSnapshot]] = defaultdict(list)
    sites: dict[UUID, Site] = {}
    for drum in drums:
        sites[drum.site.uid] = drum.site
        found[drum.site.uid].append(
            DrumSnapshot(
                uid=drum.uid,
                state=DrumState(drum.state),
                places=tuple(_place(place, batches[drum.pk]) for place in places[drum.pk]),
                batches=tuple(_batch(batch, drum, levels[batch.pk], since) for batch in batches[drum.pk]),
            )
        )
    return tuple((sites[uid], tuple(found[uid])) for uid in sorted(found))


def settings_of(site: Site) -> SiteSettings:
    return SiteSettings(air_c_by_month=INDOOR_AIR_C if site.air == Site.Air.INDOORS else TEMPERATE_AIR_C)


def _place(place: Place, batches: list[Batch]) -> PlaceSnapshot:
    return PlaceSnapshot(
        uid=place.uid,
        mark=place.letter,
        # A batch leaves its place when a person says so, so a place without one is empty by a person's word.
        empty=all(batch.place_id != place.pk for batch in batches),
        quarantined=place.is_quarantined,
        kind=PlaceKind(place.kind),
        litres=place.litres,
    )


def _batch(
    batch: Batch, drum: Drum, levels: list[LevelReading], since: dict[tuple[int, str], dt.datetime]
) -> BatchSnapshot:
    assert batch.place is not None  # live batches have one: a check in the database
    return BatchSnapshot(
        uid=batch.uid,
        drum_uid=drum.uid,
        place_uid=batch.place.uid,
        stage=Stage(batch.stage),
        opened_at=batch.opened_at,
        place_litres=batch.place.litres,
        closed_at=batch.closed_at,
        composting_since=since.get((batch.pk, Stage.COMPOSTING)),
        curing_since=since.get((batch.pk, Stage.CURING)),
        ready_since=since.get((batch.pk, Stage.READY)),
        levels=tuple(levels),
    )
