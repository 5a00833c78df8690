"""What is assumed of the weeks ahead: how much comes in, how often it is turned."""

import datetime as dt
from collections import defaultdict
from typing import Any

from django.db.models import Count, Min, Q, Sum

from bins.decisions.gather import rules_of
from bins.forecasts.books import LEARN_FOR, LEAST_LEVEL_DAYS, STANDS, Lot, end_of
from bins.forecasts.parts import browns_part, scraps_part
from bins.models import Contribution, Drum, Reading
from bins.process.model.border import Inflow
from bins.process.stage import Stage
from households.models import Building

INFLOW_DAYS = 28  # chosen: four weeks, as the rules' own foresight counts
LEAST_INFLOW_DAYS = 7  # chosen: the first three days of a drum are no week


def inflows(building: Building, day: dt.date, now: dt.datetime) -> dict[int, Inflow]:
    """What a day brings to each drum, by its key: the mean of the last four weeks. One query."""
    end = end_of(building, day, now)
    since = end - dt.timedelta(days=INFLOW_DAYS)
    rows = Contribution.objects.within(building).filter(counts_at__gte=since, counts_at__lt=end, place__isnull=True)
    sums = rows.order_by().values("drum", "browns_kind").annotate(
        grams=Sum("scraps_g"), ml=Sum("scraps_ml"), browns=Sum("browns_ml"), first=Min("counts_at")
    )  # fmt: skip
    by_drum: defaultdict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in sums:
        by_drum[row["drum"]].append(row)
    found: dict[int, Inflow] = {}
    for drum, theirs in by_drum.items():
        days = max(LEAST_INFLOW_DAYS, -((end - min(row["first"] for row in theirs)) // dt.timedelta(days=-1)))
        parts = [scraps_part(sum(r["grams"] for r in theirs) / days, sum(r["ml"] for r in theirs) / days)]
        parts += [browns_part(r["browns_kind"], r["browns"] / days) for r in theirs if r["browns"] > 0]
        found[drum] = Inflow(tuple(sorted((p for p in parts if p.wet_kg > 0), key=lambda part: part.code)))
    return found


def turn_every_days(lot: Lot) -> int | None:
    """How often it will be turned, by the site's own numbers; a curing bin doesn't turn."""
    rules = rules_of(lot.batch.drum.site)
    if lot.place.drum_id is None:
        return None
    apart = lot.batch.drum.turns == Drum.Turns.APART  # then nothing else moves a lot that works
    busy = lot.stage is Stage.FILLING or (apart and lot.stage is Stage.COMPOSTING)
    return rules.turn_open_days if busy else rules.turn_resting_days


def has_work(building: Building, now: dt.datetime) -> bool:
    """Whether any lot that lives, or was taken out lately, may be foretold or learnt from at all. One query."""
    there = Q(batch__ended_at__isnull=True) | Q(batch__ended_at__gt=now - LEARN_FOR)
    rows = Reading.objects.within(building).filter(there, kind=Reading.Kind.LEVEL_PERCENT, **STANDS)
    seen = rows.order_by().values("batch").annotate(times=Count("pk"))
    return bool(seen.filter(times__gte=LEAST_LEVEL_DAYS).exists())
