"""Batches that never were, decayed by three models that are not ours: what the forecast's ranges are tried on.

Named before the first run: (1) Monod kinetics with three pools and a lag of activity; (2) Gompertz's curve of loss
over heat-days; (3) decay of n-th order with a core and a rim of different temperature. All use another temperature
curve (Haug's double exponential, from memory) and a heat balance of their own. Numbers are (chosen) so that a batch
closed in the warm season is done in one to four months, as print has it; they are drawn wide and never fitted to what
the product says of them.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

KINDS = ("monod", "gompertz", "nth_order")
HOURS = 1.0
AIRED_KJ_PER_L_H = 1.8  # half a watt a litre is what vents let a drum breathe
MG_CARBON_PER_G = 480.0


@dataclass(frozen=True)
class Crowd:
    """So many batches' recipes, one value each: what truths are lived on."""

    litres: Any
    scraps_kg: Any  # wet, a day
    browns_kg: Any  # wet shavings, a day
    fill_days: Any
    air_c: Any  # (days, batches)


@dataclass(frozen=True)
class Seen:
    """What really was at the end of each day, (days, batches). `probe_c`: where the thermometer goes."""

    probe_c: Any
    moisture: Any
    respiration: Any
    level: Any


def fast_with_heat(celsius: Any) -> Any:
    """A double exponential after Haug (from memory), moved by 10 K so that it is best at 56 °C, as decay is."""
    raw = 1.066 ** (celsius - 20.0) - 1.21 ** (celsius - 50.0)
    return np.maximum(raw, 0.0) / 6.85


def live(kind: str, crowd: Crowd, draw: Callable[[float, float], Any]) -> Seen:
    """`draw(centre, spread)` gives one log-normal number a batch. ValueError for a kind that isn't named."""
    kinetics = {"monod": _Monod, "gompertz": _Gompertz, "nth_order": _NthOrder}
    if kind not in kinetics:
        raise ValueError(f"no such truth: {kind}")
    decay = kinetics[kind](draw, crowd)
    loss_w_k, aired = draw(0.8, 0.3), draw(1.0, 0.3)
    surface = 5.655 * (crowd.litres / 1000 / 1.021) ** (2 / 3)
    settled, wetness = draw(0.55, 0.12), np.clip(0.80 + 0.02 * np.log(draw(1.0, 1.0)), 0.72, 0.86)
    days, batches = crowd.air_c.shape
    water, celsius, browns = np.zeros(batches), crowd.air_c[0].copy(), np.zeros(batches)
    rim = celsius.copy()
    rows: list[tuple[Any, ...]] = []
    for day in range(days):
        air, filling = crowd.air_c[day], day < crowd.fill_days
        scraps = np.where(filling, crowd.scraps_kg * decay.mass_factor, 0.0)
        wood = np.where(filling, crowd.browns_kg, 0.0)
        before = 1.2 * (decay.dry() + browns) + 4.18 * water
        water = water + scraps * wetness + wood * 0.15
        browns = browns + wood * 0.85
        decay.fed(scraps * (1 - wetness))
        after = 1.2 * (decay.dry() + browns) + 4.18 * water
        celsius, rim = ((before * t + (after - before) * air) / after for t in (celsius, rim))
        for _ in range(int(24 / HOURS)):
            dry = decay.dry() + browns
            moist = water / (water + dry)
            held = np.clip((moist - 0.25) / 0.25, 0.0, 1.0)
            room = aired * AIRED_KJ_PER_L_H * crowd.litres
            wish = 19_600 * decay.wish_a_day() / 24 * fast_with_heat(celsius)
            burnt = decay.burn(celsius, rim, held * room / (room + wish), HOURS)
            capacity = 1.2 * dry + 4.18 * water
            wall = loss_w_k * 3.6 * surface * np.minimum(1.0, (water + dry) / crowd.litres / 0.45) ** 0.67
            # Half of what leaves a warm drum leaves as vapour; none when it is dry.
            steam = aired * 0.7 * wall * np.maximum(celsius - air, 0.0) * held
            out = wall * (rim - air if decay.has_rim else celsius - air) + steam
            if decay.has_rim:
                through = wall * 1.5 * (celsius - rim)
                heat = 19_600 * burnt / HOURS
                celsius = celsius + HOURS * (0.6 * heat - through - steam) / (0.6 * capacity)
                rim = rim + HOURS * (0.4 * heat + through - (out - steam)) / (0.4 * capacity)
            else:
                celsius = celsius + HOURS * (19_600 * burnt / HOURS - out) / capacity
            # A cooled heap can't cool below its air in one step, nor boil.
            celsius, rim = np.clip(celsius, -15.0, 75.0), np.clip(rim, -15.0, 75.0)
            water = np.maximum(water + 0.55 * burnt - HOURS * steam / 2500, 0.05 * dry)
        dry = decay.dry() + browns
        moist = water / (water + dry)
        level = (water + dry) / (settled * crowd.litres)
        rows.append((celsius, moist, decay.respiration(), level))
    return Seen(*(np.stack(column) for column in zip(*rows, strict=True)))


class _Kinetics:
    """Kilos of dry scraps: what can go, and what not."""

    has_rim = False

    def __init__(self, draw: Callable[[float, float], Any], crowd: Crowd) -> None:
        self.mass_factor = draw(1.0, 0.15)  # what pails really weighed, over what was written down
        self.ash = np.zeros(len(crowd.litres))
        self.inert = np.zeros(len(crowd.litres))
        self.at_30 = fast_with_heat(30.0)

    def dry(self) -> Any:
        return self.ash + self.inert + self.left()

    def left(self) -> Any:
        raise NotImplementedError

    def respiration(self) -> Any:
        organic = self.inert + self.left() + 1e-9
        return MG_CARBON_PER_G * self.at_30 * self.wish_a_day() / organic

    def wish_a_day(self) -> Any:
        """Kilos a day at the best temperature."""
        raise NotImplementedError


class _Monod(_Kinetics):
    def __init__(self, draw: Callable[[float, float], Any], crowd: Crowd) -> None:
        super().__init__(draw, crowd)
        self.shares = np.stack([draw(0.28, 0.15), draw(0.28, 0.15), draw(0.12, 0.25)])
        self.rates = np.stack([draw(0.9, 0.35), draw(0.28, 0.30), draw(0.14, 0.30)])
        self.waking, self.half = draw(1.2, 0.3), draw(0.05, 0.3)
        self.pools = np.zeros((3, len(crowd.litres)))
        self.activity = np.full(len(crowd.litres), 0.05)

    def left(self) -> Any:
        return self.pools.sum(axis=0)

    def fed(self, dry: Any) -> None:
        before = self.left()
        self.pools = self.pools + self.shares * dry
        self.ash, self.inert = self.ash + 0.10 * dry, self.inert + (0.90 - self.shares.sum(axis=0)) * dry
        after = self.left() + 1e-9
        self.activity = np.clip((self.activity * before + 0.05 * (after - before)) / after, 0.05, 1.0)

    def wish_a_day(self) -> Any:
        share = self.pools / (self.dry() + 1e-9)
        return (self.rates * self.pools * share / (self.half + share) * 1.2).sum(axis=0)

    def burn(self, celsius: Any, rim: Any, held: Any, hours: float) -> Any:
        speed = fast_with_heat(celsius) * held
        share = self.pools / (self.dry() + 1e-9)
        gone = self.rates * self.pools * share / (self.half + share) * 1.2
        gone = np.minimum(gone * self.activity * speed * hours / 24, self.pools)
        self.pools = self.pools - gone
        self.activity = np.clip(
            self.activity + self.waking * speed * self.activity * (1 - self.activity) * hours / 24, 0.05, 1
        )
        return gone.sum(axis=0)


class _Gompertz(_Kinetics):
    def __init__(self, draw: Callable[[float, float], Any], crowd: Crowd) -> None:
        super().__init__(draw, crowd)
        self.share = np.minimum(draw(0.66, 0.10), 0.85)
        self.rate = draw(0.33, 0.30)
        self.lost, self.whole = np.zeros(len(crowd.litres)), np.zeros(len(crowd.litres))

    def left(self) -> Any:
        return self.whole - self.lost

    def fed(self, dry: Any) -> None:
        self.whole = self.whole + self.share * dry
        self.ash, self.inert = self.ash + 0.10 * dry, self.inert + (0.90 - self.share) * dry

    def wish_a_day(self) -> Any:
        done = np.clip(self.lost / (self.whole + 1e-9), 0.03, 0.9999)
        return self.rate * self.whole * done * -np.log(done)

    def burn(self, celsius: Any, rim: Any, held: Any, hours: float) -> Any:
        gone = np.minimum(self.wish_a_day() * fast_with_heat(celsius) * held * hours / 24, self.left())
        self.lost = self.lost + gone
        return gone


class _NthOrder(_Kinetics):
    has_rim = True

    def __init__(self, draw: Callable[[float, float], Any], crowd: Crowd) -> None:
        super().__init__(draw, crowd)
        self.share, self.rate = np.minimum(draw(0.68, 0.10), 0.85), draw(0.70, 0.30)
        self.order = np.clip(draw(1.6, 0.10), 1.2, 2.2)
        self.core, self.edge, self.whole = (np.zeros(len(crowd.litres)) for _ in range(3))

    def left(self) -> Any:
        return self.core + self.edge

    def fed(self, dry: Any) -> None:
        self.core, self.edge = self.core + 0.6 * self.share * dry, self.edge + 0.4 * self.share * dry
        self.whole = self.whole + self.share * dry
        self.ash, self.inert = self.ash + 0.10 * dry, self.inert + (0.90 - self.share) * dry
        # It is turned every few days: a day's share of core and rim changes places.
        mixed = self.left()
        self.core, self.edge = 0.7 * self.core + 0.3 * 0.6 * mixed, 0.7 * self.edge + 0.3 * 0.4 * mixed

    def _wish(self, pool: Any, part: float) -> Any:
        whole = part * self.whole + 1e-9
        return self.rate * whole * (pool / whole) ** self.order

    def wish_a_day(self) -> Any:
        return self._wish(self.core, 0.6) + self._wish(self.edge, 0.4)

    def burn(self, celsius: Any, rim: Any, held: Any, hours: float) -> Any:
        core = np.minimum(self._wish(self.core, 0.6) * fast_with_heat(celsius) * held * hours / 24, self.core)
        edge = np.minimum(self._wish(self.edge, 0.4) * fast_with_heat(rim) * held * hours / 24, self.edge)
        self.core, self.edge = self.core - core, self.edge - edge
        return core + edge
