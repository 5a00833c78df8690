"""How often a drum wants turning. Chosen: the open drum every 3 days (a published note prefers 3 or
4), one that only rests weekly; a frozen one never, and no turn of it counts as missed.
"""

from datetime import datetime

from bins.process.site import SiteSettings
from bins.process.snapshot import DrumSnapshot, DrumState
from bins.process.stage import Stage
from bins.process.winter import is_frozen

OPEN_DAYS = 3
RESTING_DAYS = 7


def days_between_turns(
    drum: DrumSnapshot,
    settings: SiteSettings,
    now: datetime,
    open_days: int = OPEN_DAYS,
    resting_days: int = RESTING_DAYS,
) -> int | None:
    """Whole days from one turn to the next; None where nothing in its own hatches gains from turning.

    Finished compost isn't turned any more. A drum out of service isn't turned at all.
    """
    if drum.state is DrumState.OUT_OF_SERVICE:
        return None
    own = {place.uid for place in drum.places if place.kind == "chamber"}
    turned = [
        batch
        for batch in drum.batches
        if batch.place_uid in own and batch.stage in (Stage.FILLING, Stage.COMPOSTING, Stage.CURING)
    ]
    if all(is_frozen(batch, settings, now) for batch in turned):
        return None
    is_open = drum.filling is not None and drum.state is DrumState.IN_SERVICE
    return open_days if is_open else resting_days
