"""The model's equations a second time: one batch, plain floats, `math`; written for an adaptive integrator.

Nothing of the product's balance is imported but its constants, so that a slip in either shows.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from scipy.integrate import solve_ivp

from bins.process.model import balance, rates
from bins.process.model import state as rows
from bins.process.model.balance import Coefficients


@dataclass(frozen=True)
class Leg:
    """Some hours with constant coefficients; `inert`, `ash` kg as they lie."""

    hours: float
    coefficients: tuple[float, ...]  # as one_of gives them
    inert: float
    ash: float


def one_of(c: Coefficients, batch: int, member: int) -> tuple[float, ...]:
    """The coefficients of one column as floats."""
    rest = (c.waking, c.wall, c.exchange, 1 - c.solid, c.per_litre, c.air_c, c.air_vapour)
    return (*(float(v) for v in c.eaten[:, batch, member]), *(float(v[batch, member]) for v in rest))


def right_hand_side(leg: Leg) -> Any:
    fast_rate, slow_rate, wood_rate, waking, wall, exchange, settled, per_litre, air, vapour = leg.coefficients
    humus = balance.HUMUS
    inert, ash = leg.inert, leg.ash

    def f(_: float, y: Sequence[float]) -> list[float]:
        water, heat, volume, fresh, fast, slow, wood = y
        organic = fresh + fast + slow + wood + inert
        dry = organic + ash
        capacity = rows.DRY_KJ_PER_KG_K * dry + rows.WATER_KJ_PER_KG_K * water + rows.NOTHING
        thawed = max(heat, 0.0) + min(heat + rows.FREEZING_KJ_PER_KG * water, 0.0)
        warm = thawed / capacity
        wet = water / (water + dry + rows.NOTHING)
        solid = water + organic + ash / rates.ASH_KG_PER_L
        space = 1 - solid / (volume + rows.NOTHING)
        filled = volume * per_litre
        touched = 1.5 * filled / (filled + 0.5)
        over = warm - air
        aired = exchange * touched * (1 + balance.BUOYANCY_PER_K * max(over, 0.0))

        if rates.COLDEST_C < warm < rates.HOTTEST_C:
            low, best, high = rates.COLDEST_C, rates.BEST_C, rates.HOTTEST_C
            speed = (warm - high) * (warm - low) ** 2
            speed /= (best - low) * ((best - low) * (warm - best) - (best - high) * (best + low - 2 * warm))
        else:
            speed = 0.0
        speed /= 1 + math.exp(7.0622 - 17.684 * wet)
        speed /= 1 + math.exp(3.4945 - 23.675 * space)
        woken = waking * speed * fresh
        wanted = speed * ((1 - humus) * fast_rate * fast + slow_rate * slow + wood_rate * wood)
        demand = wanted * balance.OXYGEN_KG_PER_KG / (aired * balance.OXYGEN_KG_PER_M3 + rows.NOTHING)
        linear = demand + rates.OXYGEN_HALF - rates.OXYGEN_IN_AIR
        root = math.sqrt(linear * linear + 4 * rates.OXYGEN_IN_AIR * rates.OXYGEN_HALF)
        share = 2 * rates.OXYGEN_IN_AIR * rates.OXYGEN_HALF / (linear + root)
        speed *= share / (share + rates.OXYGEN_HALF)
        eaten, rotted, decayed = speed * fast_rate * fast, speed * slow_rate * slow, speed * wood_rate * wood
        burnt = (1 - humus) * eaten + rotted + decayed

        t = warm
        saturated = rates.VAPOUR_AT_0 + t * (rates.C1 + t * (rates.C2 + t * (rates.C3 + t * rates.C4)))
        dryness = wet * 1.08 / (wet + 0.08)
        evaporated = aired * max(saturated * dryness - vapour, 0.0)
        holds = balance.HOLDS_FRESH * fresh + balance.HOLDS_ORGANIC * (fast + slow + inert)
        holds += balance.HOLDS_WOOD * wood + balance.HOLDS_ASH * ash
        free = max(water - holds, 0.0)
        drained = balance.DRAIN_PER_HOUR * free
        lasting = max((solid - free) / (1 - settled - balance.AIR_BY_WOOD * wood / (dry + rows.NOTHING)), solid)
        lost = (wall * touched + balance.AIR_KJ_PER_M3_K * aired) * over
        lost += evaporated * (balance.VAPOUR_KJ_PER_KG + balance.STEAM_KJ_PER_KG_K * warm)
        lost += rows.WATER_KJ_PER_KG_K * drained * warm
        return [
            balance.WATER_MADE_KG_PER_KG * burnt - evaporated - drained,
            balance.HEAT_KJ_PER_KG * burnt - lost,
            balance.SETTLE_PER_HOUR * (lasting - volume),
            -woken,
            woken - eaten,
            humus * eaten - rotted,
            -decayed,
        ]

    return f


def integrate(start: Sequence[float], leg: Leg, rtol: float, atol: float) -> list[float]:
    """The seven moving rows at the end of the leg, by LSODA."""
    solved = solve_ivp(right_hand_side(leg), (0.0, leg.hours), list(start), method="LSODA", rtol=rtol, atol=atol)
    assert solved.success, solved.message
    return [float(v) for v in solved.y[:, -1]]
