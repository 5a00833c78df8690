"""Weeks at a drum in few words: pails, visits with levels, and nights that look ahead."""

import datetime as dt
from typing import Any
from uuid import uuid4, uuid5

from bins.care.visit import CareVisit, record_visit
from bins.forecasts import night
from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Contribution, Drum
from households.models import Building
from tests.cast import NOW

DAY = dt.timedelta(days=1)
FIRST = NOW.date()  # 4 May 2026


def pails(here: Building, drum: Drum, days: range, quarter_pails: int = 8, **more: Any) -> None:
    """One drop-off a day at six in the evening, each with two cups of browns a pail."""
    for day in days:
        pail(here, drum, NOW + day * DAY, quarter_pails=quarter_pails, **more)


def pail(here: Building, drum: Drum, at: dt.datetime, now: dt.datetime | None = None, **more: Any) -> Contribution:
    raw = {
        "uid": uuid4(), "drum": drum.uid, "quarter_pails": 4, "browns_cups": 4, "happened_at": at.isoformat(), **more,
    }  # fmt: skip
    told = DropOff.from_raw(raw)
    return record_drop_off(building=here, told=told, household=None, person=None, via="web", now=now or at).row


def visit(here: Building, drum: Drum, day: int, level: str, **more: Any) -> None:
    """Turned, and the level read, at seven in the evening."""
    at = NOW + day * DAY + dt.timedelta(hours=1)
    raw = {"uid": uuid4(), "drum": drum.uid, "turned": "yes", "level": level, **more}
    record_visit(building=here, told=CareVisit.from_raw(raw), person=None, via="web", now=at)


def a_fortnight(here: Building, drum: Drum) -> None:
    """14 days of pails, the level read twice."""
    pails(here, drum, range(14))
    visit(here, drum, 5, "quarter")
    visit(here, drum, 12, "half")


def look_ahead(here: Building, day: int) -> night.Decided:
    """The forecast of the night after `day` days."""
    local = FIRST + day * DAY
    decided = night.decide(night.gather(here, local))
    night.apply(here, decided, uuid5(here.uid, f"forecast {local}"))
    return decided
