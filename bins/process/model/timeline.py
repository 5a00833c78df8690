"""A history cut into days, each with what happened in which of its steps."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from bins.process.maturity import MaturityTest
from bins.process.model.air import Air
from bins.process.model.border import Addition, HarvestReading, History, Vessel
from bins.process.model.feed import feed_of
from bins.process.model.rates import Floats
from bins.process.model.step import STEP_HOURS
from bins.process.reading import LevelReading, SmellReading, SqueezeReading, TemperatureReading

AnyReading = LevelReading | TemperatureReading | SqueezeReading | SmellReading | HarvestReading | MaturityTest


@dataclass(frozen=True, slots=True)
class Day:
    """One day of one batch. Slots are its steps; in each, turns come first, then readings, then
    additions."""

    vessel: Vessel
    air_c: float
    feeds: Mapping[int, Floats] = field(default_factory=dict)
    turns: frozenset[int] = frozenset()
    readings: Mapping[int, tuple[AnyReading, ...]] = field(default_factory=dict)
    closed: bool = False  # filling had ended when the day ended
    curing_begins: bool = False


class Timeline:
    """The days of a history; `day` may be asked for any of them, past or to come."""

    def __init__(self, history: History, ahead: tuple[Addition, ...] = ()) -> None:
        """`ahead`: further additions, that nobody has made yet."""
        self.history = history
        self.air = Air(history)
        self.additions: dict[date, dict[int, list[Addition]]] = defaultdict(lambda: defaultdict(list))
        self.readings: dict[date, dict[int, list[AnyReading]]] = defaultdict(lambda: defaultdict(list))
        self.turns: dict[date, set[int]] = defaultdict(set)
        for addition in sorted((*history.additions, *ahead), key=lambda a: (a.at, repr(a))):
            day, slot = slot_of(history, addition.at)
            self.additions[day][slot].append(addition)
        for turned in history.turns:
            day, slot = slot_of(history, turned)
            self.turns[day].add(slot)
        timed: list[tuple[datetime, AnyReading]] = [
            *((r.at, r) for rows in (history.levels, history.temperatures, history.squeezes) for r in rows),
            *((r.at, r) for rows in (history.smells, history.harvests) for r in rows),
            *((t.read_at, t) for t in history.tests),
        ]
        for at, reading in sorted(timed, key=lambda one: (one[0], repr(one[1]))):
            day, slot = slot_of(history, at)
            self.readings[day][slot].append(reading)

    def vessel(self, day: date) -> Vessel:
        """Where the batch stands at the end of a day; before its first stay, in that."""
        stays = self.history.stays
        return next((s.vessel for s in reversed(stays) if self.history.day_of(s.since) <= day), stays[0].vessel)

    def day(self, day: date) -> Day:
        """One day; nothing happens on one that no row speaks of."""
        history, vessel = self.history, self.vessel(day)
        closed, curing = history.closed_at, history.curing_at
        return Day(
            vessel=vessel,
            air_c=self.air.of(day, vessel.indoors),
            feeds={slot: feed_of(tuple(rows)) for slot, rows in self.additions.get(day, {}).items()},
            turns=frozenset(self.turns.get(day, ())),
            readings={slot: tuple(rows) for slot, rows in self.readings.get(day, {}).items()},
            closed=closed is not None and history.day_of(closed) <= day,
            curing_begins=curing is not None and history.day_of(curing) == day,
        )


def slot_of(history: History, instant: datetime) -> tuple[date, int]:
    """The building's day and its step."""
    local = instant + history.offset - (instant.utcoffset() or timedelta(0))
    return local.date(), int((local.hour * 60 + local.minute) / 60 / STEP_HOURS)


def known(history: History, until: date) -> History:
    """The history as it was known at the end of a day: nothing later is left in it."""

    def is_past(instant: datetime | None) -> bool:
        return instant is not None and history.day_of(instant) <= until

    return replace(
        history,
        stays=tuple(s for at, s in enumerate(history.stays) if at == 0 or is_past(s.since)),
        climate=replace(history.climate, readings=tuple(r for r in history.climate.readings if is_past(r.at))),
        closed_at=history.closed_at if is_past(history.closed_at) else None,
        curing_at=history.curing_at if is_past(history.curing_at) else None,
        additions=tuple(a for a in history.additions if is_past(a.at)),
        temperatures=tuple(t for t in history.temperatures if is_past(t.at)),
    )
