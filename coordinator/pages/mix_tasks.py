"""The tasks that the mix asks for, on the caretaker's list: what open hatches lack, low browns, pails to weigh."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from bins.hatch import DrumState
from bins.mixing.mixing import CorrectionTask, corrections
from bins.mixing.stock import StockState, stocks
from bins.mixing.weighing import PailState, pail_states
from bins.process.browns import Correction

from .. import mix_words, stock_words
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
    stores: tuple[tuple[StockState, str, str], ...]

    @property
    def first(self) -> str:
        """The first task in one sentence; empty where there is none."""
        stores = (says for _state, says, _why in self.stores)
        pails = (says for _state, says in self.pails)
        return next(iter([*(one.says for one in self.corrections), *stores, *pails]), "")


def mix_tasks(here: Here, states: Iterable[DrumState], without: frozenset[int] = frozenset()) -> MixTasks:
    """Eleven queries, however many drums, pails and stores there are. `without`: lots that get no correction."""
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
            if task.batch.pk not in without
        ),
        tuple((state, pail_task(state)) for state in pail_states(here.building, here.now) if state.wants_somebody),
        tuple(
            (state, stock_words.task(state), stock_words.task_why(state, here.building))
            for state in stocks(here.building, here.now)
            if state.is_low
        ),
    )


def pail_task(state: PailState) -> str:
    """What a pail wants, in one sentence."""
    if state.proposed_g_per_l is not None:
        return _("Ten full pails are weighed. Look at the new figure: %(name)s.") % {"name": state.pail.name}
    return ngettext(
        "Weigh %(n)s more full pail: %(name)s.", "Weigh %(n)s more full pails: %(name)s.", state.lacking
    ) % {"n": state.lacking, "name": state.pail.name}
