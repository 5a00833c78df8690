"""How far the levels that people read lie from the model's, so that "full" is foretold from what was seen.

To the weights a level says little (evidence.py), rightly: how far a heap has sunk tells hardly anything of its decay.
But it tells how full the hatch is. Pails heavier or rounder than told, browns that nobody wrote down, another way of
settling: a member may breathe like the batch and stand at twice its height. So what an open hatch's members are
multiplied with is told by the last weeks' levels: a normal sum on the logarithm of read over reckoned. All of them
together weigh as one, since whoever ticks the quarter below does so at each visit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np

from bins.process.model.border import MEMBERS_AHEAD, Outlook
from bins.process.model.days import day_coefficients, live
from bins.process.model.draws import INFLOW, ahead
from bins.process.model.parameters import Draws
from bins.process.model.rates import Floats
from bins.process.model.state import ROWS, VOLUME
from bins.process.model.timeline import AnyReading, Timeline
from bins.process.reading import LevelReading

WITHIN = timedelta(days=28)  # chosen: four weeks, as the rules' own foresight counts
# Chosen, as a log-normal spread: how far a reckoned volume may be off. Print has scraps at 0.24 to 0.9 kg/L.
RECKONED_OFF = 0.4
READ_OFF = 0.125  # chosen: half of the step between two quarters
LEAST_SHARE = 0.05  # chosen: a hatch read as empty holds a few percent, or its logarithm would be none
ONE_DAY = timedelta(days=1)


@dataclass(slots=True)
class _Past:
    """One open batch on its way to its last level: its 64 members, and (read, reckoned) shares of the vessel."""

    timeline: Timeline
    day: date
    last: date
    since: date
    draws: Draws
    state: Floats
    seen: list[tuple[float, Any]] = field(default_factory=list)

    def factor(self) -> Floats:
        """One a member: the mean of what the levels tell and of 1, each by its certainty; and as wide as that is."""
        read = np.maximum([share for share, _ in self.seen], LEAST_SHARE)
        reckoned = np.maximum([share for _, share in self.seen], LEAST_SHARE)
        told = np.log(read[:, None] / reckoned).mean(axis=0)
        certain = (read.mean() / READ_OFF) ** 2
        weight = 1.0 / RECKONED_OFF**2 + certain
        return np.asarray(np.exp(told * certain / weight + _luck() / weight**0.5), dtype=np.float64)


def factors(outlooks: Sequence[Outlook], draws: Sequence[Draws]) -> Floats:
    """(outlooks, members): what the level of each member is multiplied with; 1 where nobody looked, or it is closed.

    `draws`: of the 64 members of each outlook. They live their past again, since what was reckoned on the day of a
    reading is not kept.
    """
    found = np.ones((len(outlooks), MEMBERS_AHEAD))
    pasts = {at: past for at, one in enumerate(outlooks) if (past := _begun(one, draws[at])) is not None}
    while going := [past for past in pasts.values() if past.day <= past.last]:
        _live_day(going)
    for at, past in pasts.items():
        found[at] = past.factor()
    return found


def _begun(one: Outlook, draws: Draws) -> _Past | None:
    history, today = one.history, one.hindcast.kept.day
    closed = history.closed_at is not None and history.day_of(history.closed_at) <= today
    read = [day for level in history.levels if today - WITHIN < (day := history.day_of(level.at)) <= today]
    if closed or not read:
        return None
    nothing = np.zeros((ROWS, MEMBERS_AHEAD), dtype=np.float32)
    return _Past(Timeline(history), history.first_day, max(read), min(read), draws, nothing)


def _live_day(pasts: Sequence[_Past]) -> None:
    days = [past.timeline.day(past.day) for past in pasts]
    state = np.stack([past.state for past in pasts], axis=1)

    def observe(at: int, reading: AnyReading, members: Floats) -> None:
        if isinstance(reading, LevelReading) and pasts[at].day >= pasts[at].since:
            pasts[at].seen.append((reading.percent / 100, members[VOLUME] / days[at].vessel.litres))

    draws = Draws.stacked([past.draws for past in pasts])
    live(state, draws, days, day_coefficients(draws, days), observe)
    for at, past in enumerate(pasts):
        past.state = state[:, at]
        past.day += ONE_DAY


def _luck() -> Floats:
    # A column of the table in another order, chosen so that it goes with none of the table's own columns (under 0.02):
    # whose pails run over isn't whose levels were read too low.
    return np.asarray(ahead()[(np.arange(MEMBERS_AHEAD) * 19 + 13) % MEMBERS_AHEAD, INFLOW], dtype=np.float64)
