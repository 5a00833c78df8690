"""How often a drum wants turning. Chosen: the open drum every 3 days (a published note prefers 3 or
4), one that only rests weekly; a frozen one never, and no turn of it counts as missed.

Where each hatch turns by itself, each has its own days: one that is open or working like the open drum, since nothing
else moves it; one that cures weekly.
"""

from datetime import datetime
from uuid import UUID

from bins.process.site import SiteSettings
from bins.process.snapshot import DrumSnapshot, DrumState
from bins.process.stage import Stage
from bins.process.winter import is_frozen

OPEN_DAYS = 3  # chosen: in print from daily to every three or four days
RESTING_DAYS = 7  # chosen: enough to keep a resting lot loose


def days_between_turns(
    drum: DrumSnapshot,
    settings: SiteSettings,
    now: datetime,
    open_days: int = OPEN_DAYS,
    resting_days: int = RESTING_DAYS,
    hatch: UUID | None = None,
) -> int | None:
    """Whole days from one turn to the next; None where nothing in its own hatches gains from turning.

    `hatch`: of that chamber alone, in a drum that turns apart.

    Finished compost isn't turned any more. A drum out of service isn't turned at all.
    """
    if drum.state is DrumState.OUT_OF_SERVICE:
        return None
    own = {place.uid for place in drum.places if place.kind == "chamber" and hatch in (None, place.uid)}
    turned = [
        batch
        for batch in drum.batches
        if batch.place_uid in own and batch.stage in (Stage.FILLING, Stage.COMPOSTING, Stage.CURING)
    ]
    if all(is_frozen(batch, settings, now) for batch in turned):
        return None
    works = drum.filling is not None if hatch is None else any(batch.stage is not Stage.CURING for batch in turned)
    return open_days if works and drum.state is DrumState.IN_SERVICE else resting_days
