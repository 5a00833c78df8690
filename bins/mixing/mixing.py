"""What went into a batch, and what the open one lacks: litres to add at the next care visit."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Sum

from bins.hatch import DrumState
from bins.mixing.browns import BROWNS_BY_CODE
from bins.models import Amendment, Batch, Contribution
from bins.process.amendment import NotAchievable
from bins.process.browns import Correction, correct_batch
from bins.process.material import Material
from bins.process.materials import KITCHEN_SCRAPS
from bins.process.mix import Portion
from households.models import Building

WATER = Material("water", 0.0, 0.0, 0.999, kg_per_litre=1.0)  # a material has some dry matter; a thousandth of none
FILLED_TO = 90  # chosen, percent: past that nothing tumbles; browns sink as they soak
LEAST_SHARE = 0.10  # chosen: with less than a tenth of the room brought, one pail more changes everything


@dataclass(frozen=True)
class BatchMix:
    """What went into a batch and is known: millilitres and grams as the books have them."""

    scraps_g: int
    scraps_ml: int
    browns_ml: Mapping[str, int]  # by kind, what residents and corrections brought
    water_ml: int

    @property
    def is_empty(self) -> bool:
        return self.scraps_g <= 0 and self.water_ml <= 0 and not any(self.browns_ml.values())

    @property
    def litres(self) -> float:
        """Loose litres as they went in, before anything sank."""
        return (self.scraps_ml + sum(self.browns_ml.values())) / 1000

    def portions(self) -> tuple[Portion, ...]:
        found = [Portion(KITCHEN_SCRAPS, max(0, self.scraps_g) / 1000)]
        found += [
            Portion.of_litres(BROWNS_BY_CODE[kind], max(0, ml) / 1000) for kind, ml in sorted(self.browns_ml.items())
        ]
        return (*found, Portion(WATER, max(0, self.water_ml) / 1000))


def mixes(building: Building, batches: Iterable[Batch]) -> dict[int, BatchMix]:
    """What went into each batch, by its key; two queries however many there are. Reversals take away.

    What was put into it out of another batch is left out: the books know what that was when it was fresh.
    """
    keys = [batch.pk for batch in batches]
    scraps: defaultdict[int, list[int]] = defaultdict(lambda: [0, 0])
    browns: defaultdict[int, defaultdict[str, int]] = defaultdict(lambda: defaultdict(int))
    water: defaultdict[int, int] = defaultdict(int)
    brought = Contribution.objects.within(building).filter(batch__in=keys).values("batch", "browns_kind")
    for row in brought.annotate(g=Sum("scraps_g"), ml=Sum("scraps_ml"), browns=Sum("browns_ml")).order_by():
        scraps[row["batch"]][0] += row["g"]
        scraps[row["batch"]][1] += row["ml"]
        browns[row["batch"]][row["browns_kind"]] += row["browns"]
    added = Amendment.objects.within(building).filter(batch__in=keys).values("batch", "material")
    for row in added.annotate(ml=Sum("millilitres")).order_by():
        if row["material"] == Amendment.Material.WATER:
            water[row["batch"]] += row["ml"]
        else:
            browns[row["batch"]][row["material"]] += row["ml"]
    return {key: BatchMix(scraps[key][0], scraps[key][1], dict(browns[key]), water[key]) for key in keys}


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
