"""One batch as people would tell it: 61 days of pails from 1 April 2026, 200 L outdoors, closed on 1 June."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import cache

from bins.process.maturity import FlaskTest
from bins.process.model.border import Addition, Climate, Future, History, Inflow, Outlook, Stay, Vessel
from bins.process.model.hindcast import hindcast
from bins.process.reading import LevelReading, Squeeze, SqueezeReading, TemperatureReading

from .living import mix

OPENED = datetime(2026, 4, 1, 18, tzinfo=UTC)
CLOSED_ON = date(2026, 6, 1)
DAILY = mix(1.3, "shavings", 0.28)


def after(days: float) -> datetime:
    return OPENED + timedelta(days=days)


def on(days: int) -> date:
    return after(days).date()


HISTORY = History(
    opened_at=OPENED,
    stays=(Stay(OPENED, Vessel(200)),),
    climate=Climate(),
    closed_at=after(61),
    additions=tuple(Addition(after(day), DAILY) for day in range(61)),
    turns=tuple(after(day) for day in range(0, 61, 3)),
    levels=(LevelReading(after(30), 35), LevelReading(after(58), 55)),
    temperatures=(
        TemperatureReading(after(20), Decimal(38), Decimal(13)),
        TemperatureReading(after(50), Decimal(50), Decimal(19)),
    ),
    squeezes=(SqueezeReading(after(55), Squeeze.WET),),
)
FUTURE = Future(inflow=Inflow(DAILY), horizon_days=120)


def flask(days: float, rise_k: int) -> FlaskTest:
    return FlaskTest(after(days), Decimal(20 + rise_k), Decimal(20))


@cache
def outlook(days: int, history: History = HISTORY, future: Future = FUTURE) -> Outlook:
    (found,) = hindcast([history], on(days))
    return Outlook(history, found, future)


def without(**kinds: tuple[object, ...]) -> History:
    return replace(HISTORY, **kinds)  # type: ignore[arg-type]


READLESS = without(levels=(), temperatures=(), squeezes=())
