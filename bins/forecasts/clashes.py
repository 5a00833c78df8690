"""Where the open hatch will be full before another one is empty: the lots of one drum held against each other."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace

from bins.forecasts.books import Lot
from bins.models import Drum, Place
from bins.process.model.clash import clash
from bins.process.model.results import Clash
from bins.process.model.results import Forecast as Foreseen
from bins.process.stage import Stage
from households.models import Building


def free_places(building: Building, lots: Iterable[Lot]) -> dict[int, tuple[int, bool]]:
    """By drum: how many of its chambers stand empty and open, and whether a curing bin of its site does."""
    taken = {lot.place.pk for lot in lots if lot.stage.is_live}
    chambers: defaultdict[int, int] = defaultdict(int)
    sites_with_bin = set()
    for place in Place.objects.within(building).filter(is_quarantined=False):
        if place.pk in taken:
            continue
        if place.drum_id is None:
            sites_with_bin.add(place.site_id)
        else:
            chambers[place.drum_id] += 1
    drums = {lot.batch.drum_id: lot.batch.drum for lot in lots}
    return {key: (chambers[key], drum.site_id in sites_with_bin) for key, drum in drums.items()}


def clashes(
    lots: Iterable[Lot], foreseen: Mapping[int, Foreseen], free: Mapping[int, tuple[int, bool]]
) -> dict[int, Clash]:
    """For each open lot of a drum in service whose other hatches are all known of."""
    standing = [lot for lot in lots if lot.stage.is_live and lot.place.drum_id is not None]
    found: dict[int, Clash] = {}
    for lot in standing:
        mine = foreseen.get(lot.batch.pk)
        if lot.stage is not Stage.FILLING or mine is None or lot.batch.drum.state != Drum.State.IN_SERVICE:
            continue
        if max(mine.full_days) == 0:
            continue  # at the mark already, though nobody has moved the tag
        beside = [one for one in standing if one.place.drum_id == lot.place.drum_id and one is not lot]
        others = [_emptied(one, foreseen.get(one.batch.pk), mine) for one in beside]
        known = [one for one in others if one is not None]
        if len(known) == len(others):
            chambers, has_bin = free[lot.batch.drum_id]
            found[lot.batch.pk] = clash(mine, known, chambers, has_bin)
    return found


def _emptied(lot: Lot, foreseen: Foreseen | None, beside: Foreseen) -> Foreseen | None:
    """When a lot makes room: one that is ready waits for nobody but whoever fetches it."""
    if lot.stage is Stage.READY:
        now = (0,) * len(beside.ready_days)
        return replace(beside, full_days=now, curing_days=now, ready_days=now)
    return foreseen
