"""The past of a batch: 512 members lived through what was recorded, and weighed by what was read.

Plain weights collapse: a handful of members carry all, and an "80 %" range then holds half. So the evidence is
tempered, raised to the largest power up to 1 at which 32 members still count.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bins.process.model.border import Hindcast, History, Kept
from bins.process.model.days import CHUNK_COLUMNS, day_coefficients, live
from bins.process.model.draws import behind
from bins.process.model.evidence import log_likelihood
from bins.process.model.parameters import Draws
from bins.process.model.rates import Floats
from bins.process.model.state import ROWS, VERSION, WARM_DAYS
from bins.process.model.timeline import AnyReading, Timeline

LEAST_EFFECTIVE = 32.0  # chosen: half of the 64 that go on
HALVINGS = 40  # of the range of powers: finer than floats need
ONE_DAY = timedelta(days=1)


@dataclass(slots=True)
class _Past:
    """One batch on its way: members' states (rows, members) and log likelihoods."""

    history: History
    timeline: Timeline
    next_day: date
    until: date
    state: Floats
    evidence: Floats

    @property
    def days_left(self) -> int:
        return (self.until - self.next_day).days + 1


def hindcast(
    histories: Sequence[History], until: date | Sequence[date], kept: Sequence[Kept | None] | None = None
) -> tuple[Hindcast, ...]:
    """Each batch at the end of the day `until`, or of its own; see border.py. One `kept` (or None) a history, if any.

    ValueError when a kept state is of another version, later than `until`, or there aren't as many as histories.
    """
    ends = [until] * len(histories) if isinstance(until, date) else until
    begun = [_begin(*one) for one in zip(histories, ends, kept or [None] * len(histories), strict=True)]
    at_once = max(1, CHUNK_COLUMNS // len(behind()))
    order = sorted(range(len(begun)), key=lambda at: begun[at].days_left)  # so that few wait for the longest
    for start in range(0, len(order), at_once):
        _live([begun[at] for at in order[start : start + at_once]])
    return tuple(_weigh(past) for past in begun)


def weights(evidence: Floats) -> tuple[Floats, float]:
    """Tempered weights that sum to 1, and the power. Without evidence: all alike, 1."""
    evidence = evidence.astype(np.float64)
    power = 1.0
    if _effective(_powered(evidence, 1.0)) < LEAST_EFFECTIVE:
        low, power = 0.0, 1.0
        for _ in range(HALVINGS):
            middle = (low + power) / 2
            if _effective(_powered(evidence, middle)) < LEAST_EFFECTIVE:
                power = middle
            else:
                low = middle
        power = low
    return _powered(evidence, power), power


def opened(kept: Kept) -> tuple[Floats, Floats]:
    """States (rows, members) and log likelihoods of a kept state. ValueError for another version."""
    if kept.version != VERSION:
        raise ValueError(f"a state of version {kept.version} can't be continued by version {VERSION}")
    numbers = np.frombuffer(kept.blob, dtype="<f4").astype(np.float32).reshape(ROWS + 1, -1)
    return numbers[:ROWS], numbers[ROWS]


def _begin(history: History, until: date, kept: Kept | None) -> _Past:
    if kept is None:
        members = len(behind())
        nothing = np.zeros((ROWS, members), dtype=np.float32)
        return _Past(history, Timeline(history), history.first_day, until, nothing, nothing[0].copy())
    if kept.day > until:
        raise ValueError(f"a state of {kept.day} says nothing of {until}")
    state, evidence = opened(kept)
    return _Past(history, Timeline(history), kept.day + ONE_DAY, until, state.copy(), evidence.copy())


def _live(pasts: Sequence[_Past]) -> None:
    """Each its own next day until its own end: batches needn't share a calendar to share a pass over memory."""
    draws = [Draws.of(behind(), past.history.site) for past in pasts]
    while going := [at for at, past in enumerate(pasts) if past.days_left > 0]:
        _live_day([pasts[at] for at in going], [draws[at] for at in going])


def _live_day(pasts: Sequence[_Past], draws: Sequence[Draws]) -> None:
    days = [past.timeline.day(past.next_day) for past in pasts]
    state = np.stack([past.state for past in pasts], axis=1)
    for at, one in enumerate(days):
        if one.curing_begins:
            state[WARM_DAYS, at] = 0.0

    def observe(at: int, reading: AnyReading, members: Floats) -> None:
        found = log_likelihood(reading, members, draws[at], days[at].vessel)
        pasts[at].evidence = (pasts[at].evidence + found).astype(np.float32)

    all_draws = Draws.stacked(draws)
    live(state, all_draws, days, day_coefficients(all_draws, days), observe)
    for at, past in enumerate(pasts):
        past.state = state[:, at]
        past.next_day += ONE_DAY


def _weigh(past: _Past) -> Hindcast:
    evidence = past.evidence.astype(np.float64)
    share, power = weights(evidence)
    site = past.history.site
    z = np.asarray(site.shift) + np.asarray(site.width) * behind()
    mean = share @ z
    width = np.sqrt(share @ (z - mean) ** 2)
    blob = np.concatenate([past.state, past.evidence[None]]).astype("<f4").tobytes()
    best = evidence.max()
    return Hindcast(
        kept=Kept(day=past.until, version=VERSION, blob=blob),
        effective=round(_effective(share), 3),
        temper=round(power, 6),
        log_evidence=round(float(best + np.log(np.mean(np.exp(evidence - best)))), 4),
        shift=tuple(round(float(v), 4) for v in mean),
        width=tuple(round(float(v), 4) for v in width),
        site=site,
    )


def _powered(evidence: Floats, power: float) -> Floats:
    raw = np.exp(power * (evidence - evidence.max()))
    return np.asarray(raw / raw.sum(), dtype=np.float64)


def _effective(share: Floats) -> float:
    return float(1.0 / (share * share).sum())
