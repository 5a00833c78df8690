"""One mix in one vessel, lived by the product's own day: the bench on which published batches are put."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np

from bins.process.model import state as rows
from bins.process.model.border import PARAMETERS, Addition, Part, Vessel
from bins.process.model.days import day_coefficients, live
from bins.process.model.draws import behind
from bins.process.model.feed import feed_of
from bins.process.model.maturity import potential_respiration
from bins.process.model.parameters import Draws
from bins.process.model.timeline import Day

AT = datetime(2026, 4, 1, 12, tzinfo=UTC)
CENTRE = Draws.of(np.zeros((1, 1, PARAMETERS)))
SOME = Draws.of(behind()[None, 4::8])  # 64 of the table


@dataclass(frozen=True)
class Life:
    """What was seen at the end of each day (days, batches, members); `state` at the end of all."""

    temperature_c: Any
    moisture: Any
    respiration: Any
    wet_kg: Any
    dry_kg: Any
    fast_kg: Any
    litres: Any
    drained_kg: Any
    organic_share: Any
    state: Any


def mix(scraps_kg: float, browns: str, browns_kg: float, moisture: float | None = None) -> tuple[Part, ...]:
    return (Part("kitchen_scraps", scraps_kg), Part(browns, browns_kg, moisture=moisture))


def live_batch(
    vessel: Vessel,
    air_c: float | Callable[[int], float],
    feeds: Mapping[int, tuple[Part, ...]],
    days: int,
    *,
    draws: Draws = CENTRE,
    turn_every: int | None = 3,
    slot: int = 0,
) -> Life:
    """`feeds`: day -> what went in, at step `slot` of that day."""
    return live_batches((vessel,), air_c, (feeds,), days, draws=draws, turn_every=turn_every, slot=slot)


def live_batches(
    vessels: tuple[Vessel, ...],
    air_c: float | Callable[[int], float],
    feeds: tuple[Mapping[int, tuple[Part, ...]], ...],
    days: int,
    *,
    draws: Draws = CENTRE,
    turn_every: int | None = 3,
    slot: int = 0,
) -> Life:
    members = draws.wall.shape[-1]
    many = Draws(*(np.broadcast_to(getattr(draws, n), (len(vessels), members)) for n in Draws.__slots__))
    state = np.zeros((rows.ROWS, len(vessels), members), dtype=draws.wall.dtype)
    flows = np.zeros((5, len(vessels), members), dtype=state.dtype)
    seen: list[tuple[Any, ...]] = []
    for day in range(days):
        air = air_c(day) if callable(air_c) else air_c
        turned = turn_every is not None and day % turn_every == turn_every - 1
        cut = [
            Day(
                vessel,
                air,
                feeds={slot: feed_of((Addition(AT, feed[day]),))} if day in feed else {},
                turns=frozenset({0}) if turned else frozenset(),
            )
            for vessel, feed in zip(vessels, feeds, strict=True)
        ]
        live(state, many, cut, day_coefficients(many, cut), flows=flows)
        seen.append(
            (
                rows.temperature_c(state),
                rows.moisture(state),
                potential_respiration(state, many),
                rows.wet_kg(state),
                rows.dry_kg(state),
                state[rows.FRESH] + state[rows.FAST],
                state[rows.VOLUME].copy(),
                flows[2].copy(),
                rows.organic_kg(state) / (rows.dry_kg(state) + rows.NOTHING),
            )
        )
    return Life(*(np.stack(column) for column in zip(*seen, strict=True)), state)


def in_double(draws: Draws) -> Draws:
    return Draws(*(np.asarray(getattr(draws, n), dtype=np.float64) for n in Draws.__slots__))
