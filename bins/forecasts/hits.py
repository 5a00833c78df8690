"""What became of ranges: for each lot that closed or got ready, whether what was foretold 14 and 30 days ahead held.

A range counts that was made in the week that ends so many days before; the prior alone was asked in the same night.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from uuid import UUID, uuid5

from bins.forecasts.books import Lot
from bins.models import Forecast, ForecastHit
from bins.process.ranges import Record, Tried, record
from households.models import Building

AHEAD = ((ForecastHit.What.FULL, 14), (ForecastHit.What.READY, 14), (ForecastHit.What.READY, 30))
WITHIN = dt.timedelta(days=6)


def settle(building: Building, lots: Iterable[Lot], name_space: UUID) -> None:
    """Write down what came true of the lots, anew where it has changed since: a step back takes a day back. Locked."""
    lots = list(lots)
    mine = [lot.batch.pk for lot in lots]
    made: defaultdict[int, list[Forecast]] = defaultdict(list)
    asked = Forecast.objects.within(building).filter(batch__in=mine, has_prior=True)
    for row in asked.defer("bands", "clash").order_by("-made_on"):
        made[row.batch_id].append(row)
    wanted = {
        (hit.batch_id, hit.what, hit.ahead_days): hit
        for lot in lots
        for what, days in AHEAD
        for hit in [_hit(lot, what, days, made[lot.batch.pk])]
        if hit is not None
    }
    for known in ForecastHit.objects.within(building).filter(batch__in=mine):
        key = (known.batch_id, known.what, known.ahead_days)
        told = wanted.get(key)
        if told is None:
            lot = next(one for one in lots if one.batch.pk == known.batch_id)
            if _happened(lot, known.what) is None:
                known.delete()
        elif (told.happened_on, told.made_on) == (known.happened_on, known.made_on):
            del wanted[key]
        else:
            known.delete()
    for hit in wanted.values():
        hit.building = building
        hit.uid = uuid5(name_space, f"hit {hit.batch.uid} {hit.what} {hit.ahead_days}")
    ForecastHit.objects.bulk_create(wanted.values())


def record_of(building: Building, what: str, ahead_days: int) -> Record | None:
    """How often past ranges held in this building, and their score beside the prior's alone. One query."""
    hits = ForecastHit.objects.within(building).filter(what=what, ahead_days=ahead_days)
    return record([_tried(hit) for hit in hits])


def records(building: Building) -> dict[tuple[str, int], Record]:
    """All of them by what was foretold and how many days ahead. One query."""
    tries: defaultdict[tuple[str, int], list[Tried]] = defaultdict(list)
    for hit in ForecastHit.objects.within(building):
        tries[hit.what, hit.ahead_days].append(_tried(hit))
    return {key: found for key, of in sorted(tries.items()) if (found := record(of)) is not None}


def _hit(lot: Lot, what: str, days: int, made: Iterable[Forecast]) -> ForecastHit | None:
    """`made`: the lot's rows with a prior, the newest first."""
    happened = _happened(lot, what)
    if happened is None:
        return None
    latest = happened - dt.timedelta(days=days)
    row = next((one for one in made if latest - WITHIN <= one.made_on <= latest), None)
    if row is None:
        return None
    beyond = row.made_on + dt.timedelta(days=row.horizon_days + 1)
    low, high = getattr(row, f"{what}_low"), getattr(row, f"{what}_high")
    prior_low, prior_high = getattr(row, f"prior_{what}_low"), getattr(row, f"prior_{what}_high")
    return ForecastHit(
        batch=lot.batch, what=what, ahead_days=days, made_on=row.made_on, happened_on=happened, low=low or beyond,
        high=high or beyond, prior_low=prior_low or beyond, prior_high=prior_high or beyond,
    )  # fmt: skip


def _happened(lot: Lot, what: str) -> dt.date | None:
    return lot.closed_on if what == ForecastHit.What.FULL else lot.ready_on


def _tried(hit: ForecastHit) -> Tried:
    dates = (hit.low, hit.high, hit.happened_on, hit.prior_low, hit.prior_high)
    return Tried(*((date - hit.made_on).days for date in dates))
