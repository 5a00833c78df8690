"""The step against an adaptive integrator over the same equations, and the books over a long life."""

from datetime import UTC, datetime

import numpy as np

from bins.process.model import state as rows
from bins.process.model.balance import WATER_MADE_KG_PER_KG
from bins.process.model.border import PARAMETERS, Addition, Insulation, Part, Vents, Vessel
from bins.process.model.days import day_coefficients
from bins.process.model.draws import behind
from bins.process.model.feed import add, feed_of
from bins.process.model.parameters import Draws
from bins.process.model.step import STEPS_A_DAY, step, turn
from bins.process.model.timeline import Day

from .living import in_double
from .scalar import Leg, integrate, one_of

BATCHES, DAYS = 200, 6
AIRS = (-3.0, 5.0, 15.0, 22.0, 30.0)
LITRES = (10.0, 25.0, 60.0, 120.0, 200.0, 300.0, 400.0, 1000.0)
MIX = feed_of((Addition(datetime(2026, 4, 1, tzinfo=UTC), (Part("kitchen_scraps", 1.0), Part("shavings", 0.2))),))


def test_two_hundred_batches_follow_lsoda_first_pails_included() -> None:
    # scipy.integrate.solve_ivp, LSODA, 1e-9: solids, water, volume within 0.5 %, temperature within 0.3 K.
    each = np.arange(BATCHES)
    draws = Draws.of(behind()[each * len(behind()) // BATCHES][:, None])
    vessels = [Vessel(LITRES[at % len(LITRES)]) for at in range(BATCHES)]
    litres = np.array([[vessel.litres] for vessel in vessels])
    ours = np.zeros((rows.ROWS, BATCHES, 1), dtype=np.float32)
    theirs = np.zeros((rows.ROWS, BATCHES, 1))
    worst = np.zeros(4)
    for day in range(DAYS):
        days = [Day(vessel, AIRS[(at + day // 2) % len(AIRS)]) for at, vessel in enumerate(vessels)]
        c = day_coefficients(draws, days)
        kinds = (litres * 0.012, np.full_like(litres, 1.2 * (day in (0, 4))), litres * 0.35 * (day == 0))
        kilos = np.select([(each % 3 == kind)[:, None] for kind in range(3)], kinds)
        for state, whose in ((ours, draws), (theirs, in_double(draws))):
            add(state, MIX[:, :, None, None] * kilos, whose, c.air_c)
        for _ in range(STEPS_A_DAY):
            step(ours, c)
        for at in range(BATCHES):
            leg = Leg(24.0, one_of(c, at, 0), float(theirs[rows.INERT, at, 0]), float(theirs[rows.ASH, at, 0]))
            theirs[: rows.MOVING, at, 0] = integrate(theirs[: rows.MOVING, at, 0], leg, 1e-9, 1e-9)
        floor = 0.001 * rows.dry_kg(theirs)
        pairs = [(rows.dry_kg(ours), rows.dry_kg(theirs))]
        pairs += [(ours[row], theirs[row]) for row in (rows.WATER, rows.VOLUME)]
        off = [float((abs(a - b) / np.maximum(b, floor)).max()) for a, b in pairs]
        warm = abs(rows.temperature_c(ours) - rows.temperature_c(theirs))
        off.append(float(warm.max()))
        worst = np.maximum(worst, off)
    solids, water, volume = (f"{100 * off:.3f} %" for off in worst[:3])
    print(f"worst: solids {solids}, water {water}, volume {volume}, temperature {worst[3]:.3f} K")
    assert (worst[:3] <= 0.005).all()
    assert worst[3] <= 0.3


def test_mass_water_and_energy_close() -> None:
    draws = in_double(Draws.of(behind()[None, ::32]))
    vessel = Vessel(150, Insulation.DOUBLE, Vents.MANY)
    shape = draws.wall.shape
    state = np.zeros((rows.ROWS, *shape))
    flows = np.zeros((5, *shape))
    came = np.zeros((3, *shape))  # dry kg, water kg, kJ
    for day in range(150):
        days = [Day(vessel, (-8.0, 2.0, 14.0, 28.0)[day // 10 % 4])]
        c = day_coefficients(draws, days)
        if day < 40:
            before = rows.dry_kg(state), state[rows.WATER].copy(), state[rows.HEAT].copy()
            add(state, MIX[:, :, None, None] * np.ones(shape), draws, c.air_c)
            after = rows.dry_kg(state), state[rows.WATER], state[rows.HEAT]
            came += np.stack([a - b for a, b in zip(after, before, strict=True)])
        if day % 3 == 0:
            turn(state, c, 1.0)
        for _ in range(STEPS_A_DAY):
            step(state, c, flows)
    burnt, evaporated, drained, made, lost = flows
    mass = rows.dry_kg(state) + burnt - came[0]
    water = state[rows.WATER] + evaporated + drained - WATER_MADE_KG_PER_KG * burnt - came[1]
    energy = state[rows.HEAT] - made + lost - came[2]
    assert (burnt > 1).all()
    assert abs(mass / came[0]).max() < 1e-9
    assert abs(water / came[1]).max() < 1e-9
    assert abs(energy / made).max() < 1e-9


def test_an_empty_vessel_stays_empty() -> None:
    draws = Draws.of(np.zeros((1, 1, PARAMETERS)))
    state = np.zeros((rows.ROWS, 1, 1), dtype=np.float32)
    c = day_coefficients(draws, [Day(Vessel(200), 12.0)])
    turn(state, c, 1.0)
    for _ in range(STEPS_A_DAY):
        step(state, c)
    assert not state.any()
