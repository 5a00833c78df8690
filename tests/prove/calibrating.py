"""Forecasts of batches that never were: readings with noise and gaps are handed to the product, and its ranges are
scored."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import numpy as np

from bins.process.maturity import FlaskTest
from bins.process.model.air import usual_c
from bins.process.model.border import Addition, Climate, Future, Hindcast, History, Outlook, Part, Stay, Vessel
from bins.process.model.draws import behind
from bins.process.model.evidence import log_likelihood
from bins.process.model.forecast import forecast, prior_only
from bins.process.model.hindcast import hindcast, opened
from bins.process.model.milestones import Daily, stage_days
from bins.process.model.parameters import Draws
from bins.process.model.results import Forecast
from bins.process.reading import LevelReading, Squeeze, SqueezeReading, TemperatureReading
from bins.process.site import SiteSettings
from tests.prove.truths import Crowd, Seen, live

DAYS = 260
NOISE, MISSING, VISIT_EVERY = 0.20, 0.30, 3
ROOM_C = 20.0
AHEAD = (45, 30, 21, 14, 7)
WITHOUT, WITH, PRIOR = "without flask", "with flask", "prior alone"
OUTSIDE = 10  # 2 / 0.2: what a day outside an 80 % range costs in days of width


@dataclass(frozen=True)
class Batch:
    """One batch as the product gets to know it, and what really became of it."""

    history: History
    ready_on: date
    breath: Any  # potential respiration at the end of each day
    noise: float  # of its flask


@dataclass(frozen=True)
class Score:
    """How one kind of forecast did. Days; `interval` is the mean interval score of the 80 % range, the lower the
    better."""

    batches: int
    held_percent: float
    interval: float
    width: float


def batches_of(kind: str, count: int, seed: int) -> list[Batch]:
    """Those of `count` batches that were ready within the time lived."""
    random = np.random.default_rng(seed)
    litres = random.uniform(100, 400, count).round()
    fill_days = random.integers(25, 60, count)
    scraps = litres * 0.75 * 0.55 / fill_days / 1.1 * random.uniform(0.8, 1.2, count)
    starts = [date(2026, 3, 10) + timedelta(days=int(d)) for d in random.integers(0, 100, count)]
    usual = np.array([[usual_c(Climate(), s + timedelta(days=d), False) for s in starts] for d in range(DAYS)])
    crowd = Crowd(litres, scraps, scraps * 0.22, fill_days, usual + _weather(random, usual.shape))
    seen = live(kind, crowd, lambda centre, spread: centre * np.exp(spread * random.standard_normal(count)))
    closed = np.arange(DAYS)[:, None] >= fill_days
    daily = Daily(
        temperature_c=seen.probe_c,
        air_c=crowd.air_c,
        moisture=seen.moisture,
        respiration=seen.respiration,
        closed=closed,
        counted=0,
        is_curing=False,
    )
    curing, ready = stage_days(daily, SiteSettings())
    made = [
        _batch(random, crowd, seen, at, starts[at], int(curing[at]), int(ready[at]))
        for at in range(count)
        if ready[at] <= DAYS
    ]
    return made


def forecasts(batches: Sequence[Batch]) -> dict[tuple[str, int], list[tuple[date, Forecast]]]:
    """By arm and days ahead: what was said, beside the day on which it came true. Only of batches closed by then."""
    said: dict[tuple[str, int], list[tuple[date, Forecast]]] = {}
    past: dict[int, Hindcast] = {}
    for days in AHEAD:
        chosen = [at for at, batch in enumerate(batches) if _made_on(batch, days) >= _closed_on(batch)]
        made_on = [_made_on(batches[at], days) for at in chosen]
        kept = [past[at].kept if at in past else None for at in chosen]
        found = hindcast([batches[at].history for at in chosen], made_on, kept)
        past |= dict(zip(chosen, found, strict=True))
        ready = [batches[at].ready_on for at in chosen]
        future = Future(horizon_days=2 * days + 50)  # a later tenth counts as the day after: for all arms alike
        plain = [Outlook(batches[at].history, past[at], future) for at in chosen]
        flask = [replace(one, hindcast=_with_flask(batches[at], one)) for at, one in zip(chosen, plain, strict=True)]
        for arm, made in ((WITHOUT, forecast(plain)), (WITH, forecast(flask)), (PRIOR, prior_only(plain))):
            said[arm, days] = list(zip(ready, made, strict=True))
    return said


def score(said: Sequence[tuple[date, Forecast]]) -> Score:
    """Coverage and interval score of some forecasts."""
    held, widths, scores = 0, [], []
    for ready_on, one in said:
        after = (ready_on - one.made_on).days
        low, high = (
            one.horizon_days + 1 if day is None else (day - one.made_on).days for day in (one.ready.p10, one.ready.p90)
        )
        held += low <= after <= high
        widths.append(high - low)
        scores.append(high - low + OUTSIDE * (max(0, low - after) + max(0, after - high)))
    return Score(
        len(said),
        round(100 * held / len(said), 1),
        round(float(np.mean(scores)), 1),
        round(float(np.median(widths)), 1),
    )


def _weather(random: np.random.Generator, shape: tuple[int, ...]) -> Any:
    """Days above and below the usual: 3 K, each like the day before by 0.8."""
    off = np.zeros(shape)
    for day in range(1, shape[0]):
        off[day] = 0.8 * off[day - 1] + 3.0 * 0.6 * random.standard_normal(shape[1])
    return off


def _batch(
    random: np.random.Generator, crowd: Crowd, seen: Seen, at: int, start: date, curing: int, ready: int
) -> Batch:
    morning = datetime(start.year, start.month, start.day, 8, tzinfo=UTC)
    stay = Stay(morning, Vessel(float(crowd.litres[at])))
    # What was written down of each day's pails is off by the same share as readings are.
    pails = np.exp(NOISE * random.standard_normal(int(crowd.fill_days[at])))
    additions = tuple(
        Addition(
            morning + timedelta(days=day),
            (
                Part("kitchen_scraps", float(crowd.scraps_kg[at] * pails[day])),
                Part("shavings", float(crowd.browns_kg[at])),
            ),
        )
        for day in range(len(pails))
    )
    levels, temperatures, squeezes = [], [], []
    for day in range(VISIT_EVERY, ready, VISIT_EVERY):
        when = morning + timedelta(days=day + 1, hours=-8)  # the first step of the next day: the state at the day's end
        there = random.random(3) >= MISSING
        noise = np.exp(NOISE * random.standard_normal(2))
        air = float(crowd.air_c[day, at])
        if there[0]:
            levels.append(LevelReading(when, int(np.clip(100 * seen.level[day, at] * noise[0], 0, 100))))
        if there[1]:
            probe = min(air + float(seen.probe_c[day, at] - air) * float(noise[1]), 99.0)
            temperatures.append(TemperatureReading(when, Decimal(f"{probe:.1f}"), Decimal(f"{air:.1f}"), turned=True))
        if there[2] and day % (3 * VISIT_EVERY) == 0:
            squeezes.append(
                SqueezeReading(when, _felt(float(seen.moisture[day, at]) + 0.03 * random.standard_normal()))
            )
    history = History(
        opened_at=morning,
        stays=(stay,),
        climate=Climate(),
        closed_at=morning + timedelta(days=int(crowd.fill_days[at])),
        curing_at=morning + timedelta(days=curing - 1) if curing < ready else None,
        additions=additions,
        turns=tuple(morning + timedelta(days=day) for day in range(VISIT_EVERY, ready, VISIT_EVERY)),
        levels=tuple(levels),
        temperatures=tuple(temperatures),
        squeezes=tuple(squeezes),
    )
    return Batch(
        history,
        start + timedelta(days=ready - 1),
        seen.respiration[:, at],
        float(np.exp(NOISE * random.standard_normal())),
    )


def _felt(moisture: float) -> Squeeze:
    if moisture < 0.46:
        return Squeeze.DRY
    return Squeeze.WET if moisture > 0.64 else Squeeze.RIGHT


def _with_flask(batch: Batch, outlook: Outlook) -> Hindcast:
    """The hindcast as if a flask had been read on its last day. Its curve of heat is not the product's."""
    made_on = outlook.hindcast.kept.day
    breath = float(batch.breath[(made_on - batch.history.first_day).days])
    rise = 50.0 * (1.0 - np.exp(-breath / 18.0)) * batch.noise
    at = datetime(made_on.year, made_on.month, made_on.day, 23, 59, tzinfo=UTC)
    test = FlaskTest(at, Decimal(f"{ROOM_C + rise:.1f}"), Decimal(f"{ROOM_C:.1f}"))
    state, evidence = opened(outlook.hindcast.kept)
    told = log_likelihood(test, state, Draws.of(behind()), outlook.history.stays[-1].vessel)
    blob = np.concatenate([state, (evidence + told)[None]]).astype("<f4").tobytes()
    return replace(outlook.hindcast, kept=replace(outlook.hindcast.kept, blob=blob))


def _made_on(batch: Batch, days: int) -> date:
    return batch.ready_on - timedelta(days=days)


def _closed_on(batch: Batch) -> date:
    assert batch.history.closed_at is not None
    return batch.history.closed_at.date()
