"""A forecast as a row: ranges as dates, bands as whole numbers."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db.models import Max, OuterRef, Q, Subquery

from bins.models import Forecast
from bins.process.model.results import Clash, DateRange, Series
from bins.process.model.results import Forecast as Foreseen
from households.models import Building

BAND_DAYS = 120  # chosen: what a page shows of the days ahead
FULL_PERCENT = 100  # whatever people bring to it, no more goes in
NIGHTLY_DAYS = 14  # chosen: older ones stand for their week alone


def values_of(
    foreseen: Foreseen, prior: Foreseen | None, clash: Clash | None, remedied: Foreseen | None
) -> dict[str, Any]:
    """The columns of a row, all but what names it."""
    return {
        "horizon_days": foreseen.horizon_days,
        **_dates("full", foreseen.full),
        **_dates("curing", foreseen.curing),
        **_dates("ready", foreseen.ready),
        "compost_low_ml": round(1000 * foreseen.compost_litres.p10),
        "compost_mid_ml": round(1000 * foreseen.compost_litres.p50),
        "compost_high_ml": round(1000 * foreseen.compost_litres.p90),
        **_prior(prior),
        "clash": None if clash is None else _clash(clash, foreseen.made_on),
        "remedied": None if remedied is None else _days(remedied.ready, foreseen.made_on),
        "bands": {
            "level": _band(foreseen.level_percent, most=FULL_PERCENT),
            "temperature": _band(foreseen.temperature_c),
        },
    }


def keep(rows: Iterable[Forecast]) -> None:
    """Keep them, each in the place of one of the same lot and night. One statement."""
    names = [field.name for field in Forecast._meta.concrete_fields]
    told = [name for name in names if name not in ("id", "building", "batch", "made_on")]
    Forecast.objects.bulk_create(rows, update_conflicts=True, unique_fields=["batch", "made_on"], update_fields=told)


def let_go(building: Building, day: dt.date) -> None:
    """Of older rows the bands go, then all but one a week, and a fortnight after a lot's end all of them."""
    mine = Forecast.objects.within(building)
    newest = (
        mine.filter(batch=OuterRef("batch")).order_by().values("batch").annotate(last=Max("made_on")).values("last")
    )
    mine.exclude(bands={}).filter(made_on__lt=Subquery(newest.values("last"))).update(
        bands={}, clash=None, remedied=None
    )
    long_ago = day - dt.timedelta(days=NIGHTLY_DAYS)
    ended = Q(batch__ended_at__lt=dt.datetime.combine(long_ago, dt.time(), tzinfo=dt.UTC))
    mine.filter(ended | Q(has_prior=False, made_on__lt=long_ago)).delete()


def _dates(name: str, found: DateRange) -> dict[str, dt.date | None]:
    return {f"{name}_low": found.p10, f"{name}_mid": found.p50, f"{name}_high": found.p90}


def _prior(prior: Foreseen | None) -> dict[str, Any]:
    return {
        "has_prior": prior is not None,
        "prior_full_low": prior.full.p10 if prior else None,
        "prior_full_high": prior.full.p90 if prior else None,
        "prior_ready_low": prior.ready.p10 if prior else None,
        "prior_ready_high": prior.ready.p90 if prior else None,
    }


def _clash(found: Clash, made_on: dt.date) -> dict[str, Any]:
    short = found.days_short
    return {
        "permille": round(1000 * found.probability),
        "full": _days(found.full, made_on),
        "empty": _days(found.empty, made_on),
        "short": None if short is None else [round(short.p10), round(short.p50), round(short.p90)],
    }


def _days(dates: DateRange, made_on: dt.date) -> list[int | None]:
    """Days are counted from `made_on`, so that a row moves with it; None: not within the horizon."""
    return [None if one is None else (one - made_on).days for one in (dates.p10, dates.p50, dates.p90)]


def _band(series: Series, most: int = 1000) -> list[list[int]]:
    return [[min(most, round(value)) for value in line[:BAND_DAYS]] for line in (series.p10, series.p50, series.p90)]
