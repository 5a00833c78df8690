"""One site lived for a season, 64 times with other luck: is it ever full, and when is there compost?

Hatches close at the mark, pass on and are emptied by the same rules that a forecast is read off by; a batch that
cures moves to a curing bin when one is free. Every batch that begins has parameters of its own.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import numpy as np

from bins.process.degradability import BY_CODE
from bins.process.model.air import usual_c
from bins.process.model.border import MEMBERS_AHEAD, Addition, Part, Plan
from bins.process.model.clash import PICK_UP_DAYS
from bins.process.model.days import COUNTS_ABOVE_C, day_coefficients, live
from bins.process.model.draws import AIR, INFLOW, ahead, behind
from bins.process.model.feed import add, feed_of
from bins.process.model.forecast import AIR_SPREAD_K, TURNED_AT, dates
from bins.process.model.maturity import DONE, potential_respiration
from bins.process.model.milestones import NOT_DRY, first_day
from bins.process.model.parameters import Draws
from bins.process.model.results import Season, in_order
from bins.process.model.state import ROWS, VOLUME, moisture, temperature_c
from bins.process.model.timeline import Day

EMPTY, FILLING, COMPOSTING, CURING, READY = range(5)
TELL_EVERY_DAYS = 7
NEXT_BATCH = 197  # a prime: the member whose parameters the next batch in a place gets, counted on
NOON = time(12, tzinfo=UTC)


def what_if(plan: Plan, progress: Callable[[int, int], None] | None = None) -> Season:
    """Live the plan; `progress(days done, days in all)` once a week of it. The same plan gives the same season."""
    yard = _Yard(plan)
    full, ready, litres = [], [], []
    for ahead_days in range(plan.days):
        yard.live(ahead_days)
        full.append(yard.shut())
        ready.append(yard.got_ready)
        litres.append(yard.litres_out)
        if progress is not None and ahead_days % TELL_EVERY_DAYS == 0:
            progress(ahead_days, plan.days)
    shut, done = np.stack(full), np.stack(ready)  # (days, drums, members), (days, members)
    site_full = shut.any(axis=1)
    before = plan.began - timedelta(days=1)
    ready_on = first_day(done)
    return Season(
        full_site_probability=round(float(site_full.any(axis=0).mean()), 4),
        open_percent=_range(100 * (1 - shut.mean(axis=(0, 1)))),
        first_full=dates(before, first_day(site_full), plan.days),
        first_ready=dates(before, ready_on, plan.days),
        ready_by_need=_by(plan, ready_on),
        compost_litres=_range(np.sum(litres, axis=0)),
        daily_full=tuple(round(float(v), 4) for v in site_full.mean(axis=1)),
    )


class _Yard:
    """All places, all members, on one day. Arrays are (places, members); two chambers a drum, then the curing bins."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.chambers = 2 * plan.drums
        places = self.chambers + plan.curing_bins
        shape = (places, MEMBERS_AHEAD)
        self.state = np.zeros((ROWS, *shape), dtype=np.float32)
        self.stage = np.full(shape, EMPTY)
        self.stage[0 : self.chambers : 2] = FILLING
        self.counted = np.zeros(shape)  # days above 10 °C since the stage began
        self.was_cool = np.zeros(shape, dtype=bool)
        step = len(behind()) // MEMBERS_AHEAD
        self.who = (np.arange(MEMBERS_AHEAD) * step + step // 2 + np.arange(places)[:, None]) % len(behind())
        self.draws = self._drawn()
        scraps_kg = plan.households / plan.drums * plan.kg_per_week / 7
        self.feed = feed_of((Addition(datetime.combine(plan.began, NOON), _parts(plan, scraps_kg)),))[..., None, None]
        self.luck = np.exp(plan.spread * ahead()[:, INFLOW])
        self.got_ready = np.zeros(MEMBERS_AHEAD, dtype=bool)
        self.litres_out = np.zeros(MEMBERS_AHEAD)

    def live(self, ahead_days: int) -> None:
        plan, on = self.plan, self.plan.began + timedelta(days=ahead_days)
        every = plan.turn_every_days
        turns = frozenset({TURNED_AT}) if every is not None and ahead_days % every == every - 1 else frozenset[int]()
        day = Day(plan.vessel, usual_c(plan.climate, on, plan.vessel.indoors), turns=turns)
        days = [day] * len(self.stage)
        c = day_coefficients(self.draws, days)
        add(self.state, self.feed * ((self.stage == FILLING) * self.luck), self.draws, c.air_c)
        live(self.state, self.draws, days, c)
        self._pass_on(c.air_c)

    def shut(self) -> Any:
        """(drums, members): no hatch is open."""
        return ~(self.stage[: self.chambers] == FILLING).reshape(-1, 2, MEMBERS_AHEAD).any(axis=1)

    def _pass_on(self, air_c: Any) -> None:
        settings = self.plan.settings
        warm_c, wet = temperature_c(self.state), moisture(self.state)
        breath = potential_respiration(self.state, self.draws)
        warm, dry = warm_c > COUNTS_ABOVE_C, wet < NOT_DRY
        self.counted += warm
        level = 100 * self.state[VOLUME] / self.plan.vessel.litres
        cool = warm & (warm_c - air_c < float(settings.cool_within_c)) & ~dry
        composting = self.stage == COMPOSTING
        cures = composting & ((cool & self.was_cool) | ((self.counted >= settings.composting_days) & ~dry))
        ready = (self.stage == CURING) & (self.counted >= settings.curing_days) & (breath <= DONE)
        taken = (self.stage == READY) & (self.counted >= PICK_UP_DAYS)
        self.was_cool = cool & composting
        self.got_ready = (ready | (self.stage == READY)).any(axis=0)
        self.litres_out = (self.state[VOLUME] * taken).sum(axis=0)
        self._become(self.stage == FILLING, COMPOSTING, level >= settings.close_mark_percent)
        self._become(cures, CURING)
        self._become(ready, READY)
        self._clear(taken)
        self._move_to_bins()
        self._open()

    def _become(self, which: Any, stage: int, when: Any = True) -> None:
        self.stage[which & when] = stage
        self.counted[which & when] = 0

    def _move_to_bins(self) -> None:
        for at_bin in range(self.chambers, len(self.stage)):
            cures = self.stage[: self.chambers] == CURING
            moves = (self.stage[at_bin] == EMPTY) & cures.any(axis=0)
            members = np.nonzero(moves)[0]
            origin = cures.argmax(axis=0)[members]
            for whole in (self.state, self.stage, self.counted, self.who):
                whole[..., at_bin, members] = whole[..., origin, members]
            gone = np.zeros_like(moves, shape=self.stage.shape)
            gone[origin, members] = True
            self._clear(gone)

    def _clear(self, which: Any) -> None:
        if not which.any():
            return
        self.state[:, which] = 0.0
        self.stage[which], self.counted[which] = EMPTY, 0
        self.who[which] = (self.who[which] + NEXT_BATCH) % len(behind())
        self.draws = self._drawn()

    def _open(self) -> None:
        for first in range(0, self.chambers, 2):
            two = self.stage[first : first + 2]
            opens = ~(two == FILLING).any(axis=0) & (two == EMPTY).any(axis=0)
            two[(two == EMPTY).argmax(axis=0)[opens], np.nonzero(opens)[0]] = FILLING

    def _drawn(self) -> Draws:
        draws = Draws.of(behind()[self.who], self.plan.site)
        air = draws.air + np.float32(AIR_SPREAD_K) * ahead()[:, AIR].astype(np.float32)
        return replace(draws, air=air)


def _parts(plan: Plan, scraps_kg: float) -> tuple[Part, ...]:
    scraps_litres = scraps_kg / plan.kg_per_litre
    browns_litres = scraps_litres * plan.browns_per_scraps
    density = BY_CODE[plan.browns].kg_per_litre or 1.0
    return (
        Part("kitchen_scraps", scraps_kg, scraps_litres),
        Part(plan.browns, browns_litres * density, browns_litres),
    )


def _by(plan: Plan, ready_on: Any) -> float | None:
    if plan.need_by is None:
        return None
    days: date = plan.need_by
    return round(float((ready_on <= min((days - plan.began).days + 1, plan.days)).mean()), 4)


def _range(values: Any) -> Any:
    return in_order([float(v) for v in np.percentile(values, (10, 50, 90))])
