"""How warm a lot was by what was written down of it. It says what is on record, and certifies nothing."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from bins.care.history import Event
from bins.decisions.gather import degrees
from bins.models import Reading
from bins.process.hygiene import recorded_heat
from bins.process.reading import TemperatureReading


@dataclass(frozen=True)
class HeatOnRecord:
    """The hottest that was measured, tenths of °C, and the longest whole hours on record at 55 °C or more."""

    hottest_tenths_c: int
    hot_hours: int


def heat_on_record(events: Iterable[Event]) -> HeatOnRecord | None:
    """Of what happened to a lot (`history`); None where nobody measured. No query."""
    kind = str(Reading.Kind.DRUM_TENTHS_C)
    found = [(event.at, event.readings[kind]) for event in events if kind in event.readings]
    if not found:
        return None
    heat = recorded_heat(tuple(TemperatureReading(at, degrees(tenths)) for at, tenths in found))
    return HeatOnRecord(max(tenths for _at, tenths in found), heat.hot // dt.timedelta(hours=1))
