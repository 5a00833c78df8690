"""The tasks that the mix asks for, on the caretaker's list: what the open hatches lack, and pails to weigh."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from bins.hatch import DrumState
from bins.mixing.mixing import CorrectionTask, corrections
from bins.mixing.weighing import PailState, pail_states
from bins.process.browns import Correction

from .. import mix_words
from ..doors import Here


@dataclass(frozen=True)
class Shown:
    """A correction with its words. `amount` is None where no amount does it; `uid` names what will be added."""

    task: CorrectionTask
    says: str
    why: str
    amount: Correction | None
    uid: UUID


@dataclass(frozen=True)
class MixTasks:
    corrections: tuple[Shown, ...]
    pails: tuple[tuple[PailState, str], ...]

    @property
    def first(self) -> str:
        """The first task in one sentence; empty where there is none."""
        return next(iter([*(one.says for one in self.corrections), *(says for _state, says in self.pails)]), "")


def mix_tasks(here: Here, states: Iterable[DrumState]) -> MixTasks:
    """Four queries, however many drums and pails there are."""
    return MixTasks(
        tuple(
            Shown(
                task=task,
                says=mix_words.correction(task, here.building),
                why=mix_words.correction_why(task),
                amount=task.says if isinstance(task.says, Correction) else None,
                uid=uuid4(),
            )
            for task in corrections(here.building, states)
        ),
        tuple((state, pail_task(state)) for state in pail_states(here.building, here.now) if state.wants_somebody),
    )


def pail_task(state: PailState) -> str:
    """What a pail wants, in one sentence."""
    if state.proposed_g_per_l is not None:
        return _("Ten full pails are weighed. Look at the new figure: %(name)s.") % {"name": state.pail.name}
    return ngettext(
        "Weigh %(n)s more full pail: %(name)s.", "Weigh %(n)s more full pails: %(name)s.", state.lacking
    ) % {"n": state.lacking, "name": state.pail.name}
