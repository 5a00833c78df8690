"""The future of a batch: 64 members, alike in weight, lived ahead until the horizon, and read off as ranges.

Discrepancy, stated: from now on a member's pace of decay is off by a log-normal factor that no reading teaches, and its
air by some degrees. Without it a range would promise what no model of this kind has kept.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from bins.process.model.border import MEMBERS_AHEAD, Addition, Hindcast, Outlook
from bins.process.model.days import CHUNK_COLUMNS, day_coefficients, live
from bins.process.model.draws import AIR, INFLOW, PACE, ahead, behind
from bins.process.model.feed import add, feed_of
from bins.process.model.hindcast import opened, weights
from bins.process.model.levels import factors
from bins.process.model.maturity import potential_respiration
from bins.process.model.milestones import Daily, Days, first_day, stage_days
from bins.process.model.parameters import Draws
from bins.process.model.rates import Floats
from bins.process.model.results import DateRange, Forecast, Range, Series, in_order
from bins.process.model.state import VOLUME, WARM_DAYS, moisture, temperature_c, wet_kg
from bins.process.model.timeline import Day, Timeline, known

PACE_SPREAD = 0.16  # chosen on batches of other models (README.md), so that ranges hold as often as they say
AIR_SPREAD_K = 1.5  # chosen: a month's mean against its normal
TURNED_AT = 15  # the step from 18:00
TEMPERATURE, AIR_C, MOISTURE, BREATH, LEVEL, LITRES, WET = range(7)


def forecast(outlooks: Sequence[Outlook]) -> tuple[Forecast, ...]:
    """One forecast an outlook, in their order."""
    return tuple(each(outlooks))


def each(outlooks: Sequence[Outlook]) -> Iterator[Forecast]:
    """The same one by one, so that ten thousand need not lie in memory together."""
    at_once = max(1, CHUNK_COLUMNS // MEMBERS_AHEAD)
    for start in range(0, len(outlooks), at_once):
        yield from _together(outlooks[start : start + at_once])


def prior_only(outlooks: Sequence[Outlook]) -> tuple[Forecast, ...]:
    """The same with all readings forgotten."""
    return forecast(
        [replace(one, hindcast=_forgotten(one.hindcast), history=replace(one.history, levels=())) for one in outlooks]
    )


def resampled(share: Floats) -> Any:
    """Which members the 64 are, in ascending order: equally spaced through the summed weights."""
    places = (np.arange(MEMBERS_AHEAD) + 0.5) / MEMBERS_AHEAD
    return np.searchsorted(np.cumsum(share), places).clip(0, len(share) - 1)


def dates(made_on: date, days: Days, horizon: int) -> DateRange:
    """10, 50 and 90 % of some members' days after `made_on`; None beyond the horizon."""
    ordered = np.sort(days, axis=None)
    chosen = (ordered[int(part * (len(ordered) - 1) + 0.5)] for part in (0.1, 0.5, 0.9))
    return DateRange(*(None if day > horizon else made_on + timedelta(days=int(day)) for day in chosen))


@dataclass(slots=True)
class _Ahead:
    """Outlooks on their way: (rows, outlooks, members), their draws, and who has closed."""

    outlooks: Sequence[Outlook]
    timelines: list[Timeline]
    state: Floats
    draws: Draws
    closed: Any
    pace: Floats
    inflow: Floats
    as_read: Floats

    @classmethod
    def begun(cls, outlooks: Sequence[Outlook]) -> "_Ahead":
        states, draws, closed = [], [], []
        for one in outlooks:
            members, evidence = opened(one.hindcast.kept)
            chosen = resampled(weights(evidence)[0])
            states.append(members[:, chosen])
            draws.append(Draws.of(behind()[chosen], one.history.site))
            day = one.hindcast.kept.day
            closed.append([_has_begun(one, one.history.closed_at, day)] * MEMBERS_AHEAD)
        all_draws = Draws.stacked(draws)
        z = ahead()
        spreads = np.array([[one.future.inflow.spread] for one in outlooks])
        feeds = np.stack([feed_of((_daily(one),)) for one in outlooks], axis=-1)
        return cls(
            outlooks,
            [Timeline(known(one.history, one.hindcast.kept.day), one.future.additions) for one in outlooks],
            np.stack(states, axis=1),
            replace(all_draws, air=(all_draws.air + AIR_SPREAD_K * z[:, AIR]).astype(all_draws.air.dtype)),
            np.array(closed),
            np.exp(PACE_SPREAD * z[:, PACE]),
            feeds[..., None] * np.exp(spreads * z[:, INFLOW]),
            factors(outlooks, draws),
        )

    def live(self, ahead_days: int) -> Floats:
        """The day so many after each hindcast's; the seven daily values."""
        days = [self._day(at, ahead_days) for at in range(len(self.outlooks))]
        c = day_coefficients(self.draws, days, self.pace)
        add(self.state, self.inflow * ~self.closed, self.draws, c.air_c)
        live(self.state, self.draws, days, c)
        litres = np.array([[day.vessel.litres] for day in days])
        level = self.state[VOLUME] / litres * self.as_read
        marks = np.array([[one.future.settings.close_mark_percent / 100] for one in self.outlooks])
        self.closed |= level >= marks
        breath = potential_respiration(self.state, self.draws)
        warm, wet = temperature_c(self.state), moisture(self.state)
        return np.stack([warm, c.air_c, wet, breath, level, self.state[VOLUME], wet_kg(self.state)])

    def _day(self, at: int, ahead_days: int) -> Day:
        one = self.outlooks[at]
        day = self.timelines[at].day(one.hindcast.kept.day + timedelta(days=ahead_days))
        every = one.future.turn_every_days
        turns = frozenset({TURNED_AT}) if every is not None and ahead_days % every == 0 else frozenset[int]()
        return replace(day, turns=turns)


def _together(outlooks: Sequence[Outlook]) -> Iterator[Forecast]:
    ahead_of = _Ahead.begun(outlooks)
    counted = ahead_of.state[WARM_DAYS].copy()
    horizon = max(one.future.horizon_days for one in outlooks)
    begun_closed = ahead_of.closed.copy()
    values, closed = [], []
    for day in range(1, horizon + 1):
        values.append(ahead_of.live(day))
        closed.append(ahead_of.closed.copy())
    daily, shut = np.stack(values), np.stack(closed)  # (days, seven, outlooks, members), (days, outlooks, members)
    for at, one in enumerate(outlooks):
        rows = slice(0, one.future.horizon_days)
        yield _read_off(one, daily[rows, :, at], shut[rows, at], counted[at], bool(begun_closed[at, 0]))


def _read_off(one: Outlook, daily: Floats, shut: Any, counted: Any, was_closed: bool) -> Forecast:
    made_on, horizon = one.hindcast.kept.day, one.future.horizon_days
    full = np.zeros(MEMBERS_AHEAD, dtype=np.int64) if was_closed else first_day(shut)
    curing, ready = stage_days(
        Daily(
            temperature_c=daily[:, TEMPERATURE],
            air_c=daily[:, AIR_C],
            moisture=daily[:, MOISTURE],
            respiration=daily[:, BREATH],
            closed=shut,
            counted=counted,
            is_curing=_has_begun(one, one.history.curing_at, made_on),
        ),
        one.future.settings,
    )
    last = np.minimum(ready, horizon) - 1
    out = daily[last, :, np.arange(MEMBERS_AHEAD)]  # (members, seven)

    def band(row: int, times: float, digits: int) -> Series:
        lines = np.percentile(daily[:, row] * times, (10, 50, 90), axis=-1)
        first = made_on + timedelta(days=1)
        return Series(first, *(tuple(round(float(v), digits) for v in line) for line in lines))

    return Forecast(
        made_on=made_on,
        horizon_days=horizon,
        full=DateRange(None, None, None) if was_closed else dates(made_on, full, horizon),
        curing=dates(made_on, curing, horizon),
        ready=dates(made_on, ready, horizon),
        compost_litres=_amount(out[:, LITRES]),
        compost_kg=_amount(out[:, WET]),
        level_percent=band(LEVEL, 100, 1),
        temperature_c=band(TEMPERATURE, 1, 1),
        moisture_percent=band(MOISTURE, 100, 1),
        respiration=band(BREATH, 1, 2),
        full_days=tuple(int(day) for day in full),
        curing_days=tuple(int(day) for day in curing),
        ready_days=tuple(int(day) for day in ready),
        effective=one.hindcast.effective,
    )


def _amount(values: Floats) -> Range:
    return in_order([float(v) for v in np.percentile(values, (10, 50, 90))])


def _has_begun(one: Outlook, instant: Any, day: date) -> bool:
    return instant is not None and one.history.day_of(instant) <= day


def _daily(one: Outlook) -> Addition:
    return Addition(one.history.opened_at, one.future.inflow.parts)


def _forgotten(hindcast: Hindcast) -> Hindcast:
    members, evidence = opened(hindcast.kept)
    blob = np.concatenate([members, np.zeros_like(evidence)[None]]).astype("<f4").tobytes()
    return replace(hindcast, kept=replace(hindcast.kept, blob=blob), effective=float(len(evidence)), temper=1.0)
