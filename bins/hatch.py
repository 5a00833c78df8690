"""Which hatch is open: the answer that the sign, the resident's page and the list all give."""

from collections import defaultdict
from dataclasses import dataclass

from bins.models import Batch, Drum, Place, Reading
from households.models import Building


@dataclass(frozen=True)
class HatchState:
    """One chamber as it stands: its batch if it has one, and the level last seen."""

    place: Place
    batch: Batch | None
    level_percent: int

    @property
    def stage(self) -> str:
        if self.place.is_quarantined:
            return "quarantined"
        return self.batch.stage if self.batch else "empty"


@dataclass(frozen=True)
class DrumState:
    drum: Drum
    hatches: tuple[HatchState, ...]

    @property
    def open(self) -> HatchState | None:
        """The hatch with the tag, or None where nothing may be added."""
        if self.drum.state != Drum.State.IN_SERVICE:
            return None
        return next((hatch for hatch in self.hatches if hatch.stage == "filling"), None)


def drum_states(building: Building, drum: Drum | None = None) -> tuple[DrumState, ...]:
    """Every drum, or one, as it stands now, by number; four queries however many drums there are."""
    drums = Drum.objects.within(building).select_related("site").order_by("site__name", "number")
    if drum is not None:
        drums = drums.filter(pk=drum.pk)
    places: defaultdict[int, list[Place]] = defaultdict(list)
    for place in Place.objects.within(building).filter(kind=Place.Kind.CHAMBER).order_by("letter"):
        places[place.drum_id].append(place)
    batches = {batch.place_id: batch for batch in Batch.objects.within(building).live()}
    levels: dict[int, int] = {}
    seen = Reading.objects.within(building).filter(
        batch__ended_at__isnull=True, kind=Reading.Kind.LEVEL_PERCENT, reverses__isnull=True, reversed_by__isnull=True
    )
    for batch_id, value in seen.order_by("counts_at", "pk").values_list("batch_id", "value"):
        levels[batch_id] = value
    return tuple(
        DrumState(
            one,
            tuple(
                HatchState(place, batch, levels.get(batch.pk, 0) if batch else 0)
                for place in places[one.pk]
                for batch in [batches.get(place.pk)]
            ),
        )
        for one in drums
    )
