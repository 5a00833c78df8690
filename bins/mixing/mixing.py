"""What the open batch of a drum lacks: litres to add at the next care visit."""

from collections.abc import Iterable
from dataclasses import dataclass

from bins.hatch import DrumState
from bins.mixing.batch_mix import BatchMix, mixes
from bins.models import Batch
from bins.process.amendment import NotAchievable
from bins.process.browns import Correction, correct_batch
from bins.process.materials import BROWNS_BY_CODE
from households.models import Building

FILLED_TO = 90  # chosen, percent: past that nothing tumbles; browns sink as they soak
LEAST_SHARE = 0.10  # chosen: with less than a tenth of the room brought, one pail more changes everything


@dataclass(frozen=True)
class CorrectionTask:
    """What the open hatch of a drum lacks. Litres of browns and water, or what would do where none can."""

    state: DrumState
    batch: Batch
    kind: str  # of browns: the site's own
    says: Correction | NotAchievable


def corrections(building: Building, states: Iterable[DrumState]) -> tuple[CorrectionTask, ...]:
    """The tasks for the open hatches; nothing for a batch within its bands or with hardly anything in it.

    Only filling batches: of a closed one the books know what went in, not what has dried or rotted since.
    """
    open_ones = [(state, state.open.batch) for state in states if state.open and state.open.batch]
    found = mixes(building, [batch for _, batch in open_ones])
    return tuple(task for state, batch in open_ones if (task := _correction(state, batch, found[batch.pk])))


def _correction(state: DrumState, batch: Batch, mix: BatchMix) -> CorrectionTask | None:
    hatch = state.open
    assert hatch is not None  # only open hatches are asked about
    litres = hatch.place.litres
    if mix.is_empty or mix.scraps_ml < LEAST_SHARE * litres * 1000:
        return None
    level = hatch.level_percent or min(100, round(100 * mix.litres / litres))
    room = litres * max(0, FILLED_TO - level) // 100
    site = state.drum.site
    says = correct_batch(mix.portions(), BROWNS_BY_CODE[site.browns], room)
    if isinstance(says, Correction) and not says.browns_litres and not says.water_litres:
        return None
    return CorrectionTask(state, batch, site.browns, says)
