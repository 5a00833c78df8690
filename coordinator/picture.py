"""From a drum as it stands to the drawing of it."""

from django.utils.safestring import SafeString

from bins.hatch import DrumState

from .drawing import Drum, Hatch, draw


def picture(state: DrumState) -> SafeString:
    first, second = (
        Hatch(
            letter=hatch.place.letter,
            shape=hatch.place.shape,
            stage=hatch.stage,
            level_percent=hatch.level_percent,
            has_tag=hatch is state.open,
        )
        for hatch in state.hatches
    )
    return draw(Drum(uid=str(state.drum.uid), name=str(state.drum), split=state.drum.split, hatches=(first, second)))
