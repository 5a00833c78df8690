"""Which kept state of the model may go on: one that has lived just what the books tell of those days today.

A late row, one taken back, a move told otherwise: the past is then another one, and the newest state from before it
takes over. So a night advances one day, and lives again only what has changed.
"""

import datetime as dt
import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID, uuid5

from bins.models import Batch, ForecastState
from bins.process.model.border import History, Kept
from bins.process.model.state import VERSION
from households.models import Building

LADDER_DAYS = 7  # chosen: besides the newest state one a week is kept, so that a late row costs a week at most
LADDER = 4  # chosen: four of them; who remembers what is older sends us back to the beginning


def lived(history: History, day: dt.date) -> str:
    """A hash of the history up to the end of a day."""
    return hashlib.sha256(repr(up_to(history, day)).encode()).hexdigest()


def newest_that_holds(history: History, until: dt.date, states: Iterable[ForecastState]) -> ForecastState | None:
    """Of a lot's states, the latest up to `until` that has lived what the history tells. None: live it all anew."""
    for state in sorted(states, key=lambda one: one.day, reverse=True):
        if state.day <= until and state.version == VERSION and state.lived == lived(history, state.day):
            return state
    return None


def kept_of(building: Building, wanted: Mapping[int, tuple[History, dt.date]]) -> dict[int, Kept]:
    """The states from which lots go on, by their key; two queries, and bytes only of those that are used.

    `wanted`: each lot's history and the day up to which it is to be lived.
    """
    by_batch: defaultdict[int, list[ForecastState]] = defaultdict(list)
    for state in ForecastState.objects.within(building).filter(batch__in=wanted).defer("blob"):
        by_batch[state.batch_id].append(state)
    found = {
        state.pk: state
        for key, (history, until) in wanted.items()
        for state in [newest_that_holds(history, until, by_batch[key])]
        if state is not None
    }
    blobs = dict(ForecastState.objects.within(building).filter(pk__in=found).values_list("pk", "blob"))
    return {state.batch_id: Kept(state.day, state.version, bytes(blobs[pk])) for pk, state in found.items()}


def state_of(building: Building, batch: Batch, history: History, kept: Kept, name_space: UUID) -> ForecastState:
    """Where a lot stands, as a row that is not saved yet."""
    return ForecastState(
        building=building, uid=uuid5(name_space, f"state {batch.uid}"), batch=batch, day=kept.day,
        version=kept.version, lived=lived(history, kept.day), blob=kept.blob,
    )  # fmt: skip


def keep(rows: Iterable[ForecastState]) -> None:
    """Keep them, each in the place of one of the same lot and day. One statement."""
    ForecastState.objects.bulk_create(
        rows, update_conflicts=True, unique_fields=["batch", "day"], update_fields=["uid", "version", "lived", "blob"]
    )


def let_go(building: Building, newest: Mapping[int, dt.date]) -> None:
    """Keep of each lot that lives on the newest state, whose day is told, and one a week before it; of others none."""
    mine = ForecastState.objects.within(building)
    gone = [
        pk
        for pk, batch, day in mine.values_list("pk", "batch", "day")
        if batch not in newest or not (day == newest[batch] or _is_a_rung(day, newest[batch]))
    ]
    mine.filter(pk__in=gone).delete()


def _is_a_rung(day: dt.date, newest: dt.date) -> bool:
    return day.toordinal() % LADDER_DAYS == 0 and 0 < (newest - day).days <= LADDER_DAYS * LADDER


def up_to(history: History, day: dt.date) -> History:
    """The history with nothing in it that is later than the end of a day."""

    def past(rows: Iterable[Any], name: str = "at") -> Any:
        return tuple(row for row in rows if history.day_of(getattr(row, name)) <= day)

    def gone(instant: dt.datetime | None) -> dt.datetime | None:
        return instant if instant is not None and history.day_of(instant) <= day else None

    return replace(
        history,
        stays=(history.stays[0], *past(history.stays[1:], "since")),
        climate=replace(history.climate, readings=past(history.climate.readings)),
        closed_at=gone(history.closed_at),
        curing_at=gone(history.curing_at),
        additions=past(history.additions),
        turns=tuple(turn for turn in history.turns if history.day_of(turn) <= day),
        levels=past(history.levels),
        temperatures=past(history.temperatures),
        squeezes=past(history.squeezes),
        smells=past(history.smells),
        tests=past(history.tests, "read_at"),
        harvests=past(history.harvests),
    )
