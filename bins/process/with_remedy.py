"""A batch's outlook with a remedy done: what the physical model is asked beside the outlook as it is, to show both.

A remedy is to the model what goes in (browns, water, scraps) and how often it is turned. What changes neither has no
second run: larvae left alone, a gap closed, a wait.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from bins.process.materials import BROWNS_BY_CODE, KITCHEN_SCRAPS
from bins.process.model.border import Addition, Outlook, Part


def with_remedy(outlook: Outlook, figures: Mapping[str, float], browns: str, at: datetime) -> Outlook | None:
    """The same batch with a remedy's figures (remedies.py) done at `at`; None where the model would see no difference.

    `browns`: the site's kind, by its code (KeyError for one that nobody can measure out). ValueError where `at` lies on
    a day that the hindcast has lived already: the model would pass it over.
    """
    if outlook.history.day_of(at) <= outlook.hindcast.kept.day:
        raise ValueError("a remedy lies on a day that is still to be lived")
    litres = figures.get("browns_litres", 0) + figures.get("cover_litres", 0)
    scraps = figures.get("scraps_litres", 0)
    parts = (
        Part(browns, litres * (BROWNS_BY_CODE[browns].kg_per_litre or 1), litres),
        Part(KITCHEN_SCRAPS.code, scraps * (KITCHEN_SCRAPS.kg_per_litre or 1), scraps),
    )
    deed = Addition(at, tuple(part for part in parts if part.wet_kg > 0), float(figures.get("water_litres", 0)))
    future = outlook.future
    if deed.parts or deed.water_kg:
        future = replace(future, additions=(*future.additions, deed))
    if "every_days" in figures:
        every = round(figures["every_days"])
        future = replace(future, turn_every_days=min(every, future.turn_every_days or every))
    return None if future == outlook.future else replace(outlook, future=future)
