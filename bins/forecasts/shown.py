"""What pages and the API show of forecasts: the newest of each lot, or why there is none, and how it got there."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from django.db.models import Max, OuterRef, Subquery
from django.db.models.functions import TruncDate

from bins.forecasts.books import LEAST_LEVEL_DAYS, STANDS
from bins.models import Batch, Contribution, Drum, Forecast, Place, Reading
from bins.process.stage import Stage
from households.models import Building

FORETOLD = (Stage.FILLING, Stage.COMPOSTING, Stage.CURING)
MOST_READINGS = 400  # chosen: a year of weekly visits


class NoForecast(StrEnum):
    """Why a lot has no forecast."""

    READY = "ready"  # it is finished: nothing is left to foretell
    NOTHING_ON_RECORD = "nothing_on_record"  # nobody wrote down what went in
    TWO_LEVELS = "before_two_levels"
    TONIGHT = "tonight"  # the next night makes the first


@dataclass(frozen=True)
class Outlook:
    """A living lot (with drum, site and place) and its newest forecast, or the reason why there is none."""

    batch: Batch
    forecast: Forecast | None
    why_none: NoForecast | None


@dataclass(frozen=True)
class DrumOutlook:
    """A drum, its chambers in the order of their letters, and the lots in them by the key of the place."""

    drum: Drum
    chambers: tuple[Place, ...]
    lots: dict[int, Outlook]

    @property
    def open(self) -> Outlook | None:
        return next((one for one in self.lots.values() if one.batch.stage == Stage.FILLING), None)


def outlooks(building: Building, batch: Batch | None = None) -> tuple[Outlook, ...]:
    """Every living lot, or one, by drum and place; four queries however many there are."""
    living = Batch.objects.within(building).live().select_related("drum__site", "place__drum")
    if batch is not None:
        living = living.filter(pk=batch.pk)
    lots = list(living.order_by("drum__site__name", "drum__number", "place__letter", "uid"))
    keys = [lot.pk for lot in lots]
    newest = {row.batch_id: row for row in newest_of(building, keys)}
    levels = level_days(building, keys)
    fed = Contribution.objects.within(building).filter(batch__in=keys, **STANDS).order_by()
    with_scraps = set(fed.values_list("batch", flat=True).distinct())
    return tuple(
        Outlook(lot, None, why) if why else Outlook(lot, newest[lot.pk], None)
        for lot in lots
        for why in [_why_none(lot, lot.pk in newest, lot.pk in with_scraps, levels.get(lot.pk, 0))]
    )


def drum_outlooks(building: Building, found: Iterable[Outlook]) -> tuple[DrumOutlook, ...]:
    """Each drum with what is foretold of its lots; two queries however many there are."""
    standing = [(one.batch.place, one) for one in found]
    places = list(Place.objects.within(building).filter(kind=Place.Kind.CHAMBER).order_by("letter"))
    drums = Drum.objects.within(building).select_related("site").order_by("site__name", "number")
    return tuple(
        DrumOutlook(
            drum,
            tuple(place for place in places if place.drum_id == drum.pk),
            {place.pk: one for place, one in standing if place is not None and place.drum_id == drum.pk},
        )
        for drum in drums
    )


def newest_of(building: Building, batches: list[int]) -> list[Forecast]:
    """The newest row of each lot. One query."""
    mine = Forecast.objects.within(building)
    return list(mine.filter(batch__in=batches, made_on=Subquery(_last(mine))))


def nights_of(building: Building, batch: Batch) -> list[Forecast]:
    """What was foretold of one lot, the oldest first. One query."""
    rows = Forecast.objects.within(building).filter(batch=batch).defer("bands", "clash").order_by("made_on")
    return list(rows)


def readings_of(building: Building, batch: Batch) -> list[Reading]:
    """Levels and temperatures read of one lot, the oldest first. One query."""
    kinds = (Reading.Kind.LEVEL_PERCENT, Reading.Kind.DRUM_TENTHS_C)
    rows = Reading.objects.within(building).filter(batch=batch, kind__in=kinds, **STANDS)
    return list(rows.order_by("-counts_at", "-pk")[:MOST_READINGS])[::-1]


def next_ready(building: Building) -> list[Forecast]:
    """Of each drum the newest forecast of that lot which is to be ready first; with batch and drum. One query."""
    mine = Forecast.objects.within(building)
    rows = mine.filter(batch__stage__in=FORETOLD, made_on=Subquery(_last(mine)), ready_low__isnull=False)
    first: dict[int, Forecast] = {}
    for row in rows.defer("bands").select_related("batch__drum").order_by("ready_low", "batch__uid"):
        first.setdefault(row.batch.drum_id, row)
    return list(first.values())


def _last(rows: Any) -> Any:
    """The day of the newest row of a row's own lot."""
    mine = rows.filter(batch=OuterRef("batch")).order_by().values("batch")
    return mine.annotate(last=Max("made_on")).values("last")


def is_late(row: Forecast, today: dt.date) -> bool:
    """Whether a forecast is older than last night's: then the page says of when it is."""
    return row.made_on < today - dt.timedelta(days=2)


def level_days(building: Building, batches: list[int]) -> dict[int, int]:
    """On how many days of the building's clock a level of each lot was read. One query."""
    rows = Reading.objects.within(building).filter(batch__in=batches, kind=Reading.Kind.LEVEL_PERCENT, **STANDS)
    days = rows.order_by().annotate(day=TruncDate("counts_at", tzinfo=building.zone)).values_list("batch", "day")
    found: dict[int, int] = {}
    for batch, _day in days.distinct():
        found[batch] = found.get(batch, 0) + 1
    return found


def _why_none(batch: Batch, has_row: bool, has_scraps: bool, levels: int) -> NoForecast | None:
    if batch.stage not in FORETOLD:
        return NoForecast.READY
    if has_row:
        return None
    if batch.from_record or not has_scraps:
        return NoForecast.NOTHING_ON_RECORD
    return NoForecast.TWO_LEVELS if levels < LEAST_LEVEL_DAYS else NoForecast.TONIGHT
