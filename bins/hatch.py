"""Which hatch is open: the answer that the sign, the resident's page and the list all give."""

from collections import defaultdict
from dataclasses import dataclass

from bins.decisions.gather import level_in_place, place_at
from bins.models import Batch, Drum, Movement, Place, Reading
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
    """Every drum, or one, as it stands now, by number; five queries however many drums there are."""
    drums = Drum.objects.within(building).select_related("site").order_by("site__name", "number")
    if drum is not None:
        drums = drums.filter(pk=drum.pk)
    places: defaultdict[int, list[Place]] = defaultdict(list)
    by_key: dict[int, Place] = {}
    for place in Place.objects.within(building).order_by("letter"):
        by_key[place.pk] = place
        if place.kind == Place.Kind.CHAMBER:
            places[place.drum_id].append(place)
    batches = {batch.place_id: batch for batch in Batch.objects.within(building).live()}
    levels = _levels(building, {batch.pk: batch for batch in batches.values()}, by_key)
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


def _levels(building: Building, batches: dict[int, Batch], places: dict[int, Place]) -> dict[int, int]:
    """The level last seen of each live batch, as it stands in its present place."""
    stands = {"batch__ended_at__isnull": True, "reverses__isnull": True, "reversed_by__isnull": True}
    moves: defaultdict[int, list[Movement]] = defaultdict(list)
    for move in Movement.objects.within(building).filter(**stands).order_by("counts_at", "ledger_number"):
        moves[move.batch_id].append(move)
    seen = Reading.objects.within(building).filter(kind=Reading.Kind.LEVEL_PERCENT, **stands)
    levels: dict[int, int] = {}
    for reading in seen.order_by("counts_at", "pk"):
        batch = batches[reading.batch_id]
        assert batch.place_id is not None  # a live batch stands somewhere: a check in the database
        then = places[place_at(batch, moves[batch.pk], reading.counts_at)]
        levels[batch.pk] = level_in_place(places[batch.place_id], reading, then)
    return levels
