"""The process model against a general integrator: how many times as many member-days in the same time, and its room.

A member-day here is one of a chamber that fills: three pails a day, so the integrator is begun anew three times a day,
as it must be. Called by deploy/bench; needs no database. Measured in turns, one core.
"""

import os
import sys
import time
import tracemalloc
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from typing import Any

CHECKOUT = Path(__file__).resolve().parent.parent
for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[threads] = "1"
sys.path.insert(0, str(CHECKOUT))

import numpy as np  # noqa: E402 (after the threads are set)

from bins.process.model import state as rows  # noqa: E402
from bins.process.model.border import MEMBERS_AHEAD, Addition, Part, Vessel  # noqa: E402
from bins.process.model.days import CHUNK_COLUMNS, day_coefficients, live  # noqa: E402
from bins.process.model.draws import behind  # noqa: E402
from bins.process.model.feed import add, feed_of  # noqa: E402
from bins.process.model.parameters import Draws  # noqa: E402
from bins.process.model.timeline import Day  # noqa: E402

CHAMBERS_A_BUILDING = 2
FEW, MANY, MOST = 50 * CHAMBERS_A_BUILDING, 1500 * CHAMBERS_A_BUILDING, 10_000
DAYS, PAIRS, ALONE = 3, 3, 12  # days lived, turns taken, members that the integrator lives each time
SLOTS = (7, 11, 15)  # three pails a day
PAIL = feed_of((Addition(datetime(2026, 5, 1, tzinfo=UTC), (Part("kitchen_scraps", 1.5), Part("shavings", 0.3))),))
DAY = Day(Vessel(200), 15.0, feeds=dict.fromkeys(SLOTS, PAIL))


def main() -> None:
    ours, few, many, theirs = [], [], [], []
    for _ in range(PAIRS):
        theirs.append(alone())
        many.append(together(MANY))
        few.append(together(FEW))
        ours.append(theirs[-1] / (many[-1] / MEMBERS_AHEAD))
    least = f"{PAIRS} turns, least {min(ours):.0f}"
    say(f"The process model's member-days / those of solve_ivp (LSODA, 1e-6): {median(ours):.0f} times ({least})")
    say(f"A chamber's night at 50 buildings / at 1,500: {median(few) / median(many):.2f} times")
    say(f"Memory for 10,000 chambers of 64 members: {room():.0f} MB")


def say(answer: str) -> None:
    sys.stdout.write(answer + "\n")


def together(chambers: int) -> float:
    """Seconds for a chamber and day, all members, in chunks as a night takes them."""
    days = 0
    began = time.perf_counter()
    for state, draws, cut in _chunks(chambers):
        for _ in range(DAYS):
            live(state, draws, cut, day_coefficients(draws, cut))
            days += len(cut)
    return (time.perf_counter() - began) / days


def alone() -> float:
    """Seconds for a member and day by the integrator, on the same days."""
    from tests.bins.process.model.scalar import Leg, integrate, one_of

    draws = Draws.of(behind()[None, :: len(behind()) // ALONE][:, :ALONE])
    c = day_coefficients(draws, [DAY])
    state = np.zeros((rows.ROWS, 1, ALONE))
    hours = [24.0 / 20 * (end - begin) for begin, end in zip((0, *SLOTS), (*SLOTS, 20), strict=True)]
    spent = 0.0
    for _ in range(DAYS):
        for leg, last in enumerate(hours):
            if leg:
                add(state, PAIL[:, :, None, None] * np.ones((1, ALONE)), draws, c.air_c)
            for at in range(ALONE):
                if not state[rows.VOLUME, 0, at]:
                    continue  # nothing is in there yet
                part = Leg(last, one_of(c, 0, at), float(state[rows.INERT, 0, at]), float(state[rows.ASH, 0, at]))
                start = [float(v) for v in state[: rows.MOVING, 0, at]]
                began = time.perf_counter()
                state[: rows.MOVING, 0, at] = integrate(start, part, 1e-6, 1e-6)
                spent += time.perf_counter() - began
    return spent / (ALONE * DAYS)


def room() -> float:
    """Megabytes at the peak of a night over ten thousand chambers, all states kept."""
    tracemalloc.start()
    states = np.zeros((rows.ROWS, MOST, MEMBERS_AHEAD), dtype=np.float32)
    at = 0
    for state, draws, cut in _chunks(MOST):
        live(state, draws, cut, day_coefficients(draws, cut))
        states[:, at : at + len(cut)] = state
        at += len(cut)
    return tracemalloc.get_traced_memory()[1] / 1e6


def _chunks(chambers: int) -> Any:
    at_once = CHUNK_COLUMNS // MEMBERS_AHEAD
    members = Draws.of(behind()[4::8])
    for begin in range(0, chambers, at_once):
        count = min(at_once, chambers - begin)
        state = np.zeros((rows.ROWS, count, MEMBERS_AHEAD), dtype=np.float32)
        yield state, Draws.stacked([members] * count), [DAY] * count


if __name__ == "__main__":
    main()
