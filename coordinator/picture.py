"""From a drum as it stands to the drawing of it."""

from django.utils.safestring import SafeString

from bins.hatch import DrumState, HatchState

from .drawing import Drum, Hatch, draw


def picture(state: DrumState) -> SafeString:
    first, second = (
        Hatch(
            letter=hatch.place.letter,
            shape=hatch.place.shape,
            stage=_shown(state, hatch),
            level_percent=hatch.level_percent,
            has_tag=hatch is state.open,
        )
        for hatch in state.hatches
    )
    return draw(Drum(uid=str(state.drum.uid), name=str(state.drum), split=state.drum.split, hatches=(first, second)))


def _shown(state: DrumState, hatch: HatchState) -> str:
    """The open hatch of a drum that takes nothing now is drawn as shut: in the picture dots mean "put it here"."""
    return "quarantined" if hatch.stage == "filling" and hatch is not state.open else hatch.stage
