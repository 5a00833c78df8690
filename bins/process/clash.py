"""Rule 4's foresight: the open chamber will be full before another one is empty. Warned 14 days ahead.

When it will be full: a straight line through the levels of the last 28 days (least squares), read off at the
close mark. When another is free: what composting and curing days it still needs, counted ahead by the site's
mean air. Both are plain sums for a warning, not a forecast of the heap.

    levels          rise          at the mark in    other batch free in   warned
    40, 50, 60 %    10 % a week   10 days           30 days               yes: 20 days short
    40, 50, 60 %    10 % a week   10 days           10 days               no
    40, 44, 48 %    4 % a week    47 days           60 days               no, not yet
"""

from datetime import datetime, timedelta
from fractions import Fraction

from bins.process.curing import days_needed
from bins.process.filling import latest_level, level_stands_at_mark
from bins.process.fresh import batch_millilitres
from bins.process.proposal import Figure, Proposal, Reason, Rule
from bins.process.reading import LevelReading
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, DrumState, PlaceKind
from bins.process.stage import Stage
from bins.process.warmth import count_warm_days, days_until_counted

TREND_DAYS = 28  # chosen: four weekly readings, short enough to follow a change of habits
LEAST_SPAN = timedelta(days=7)  # chosen: within a week a turn moves the level more than the pails do


def decide_clash(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> tuple[Proposal, ...]:
    """Nought or one warning for the filling batch (stage unchanged).

    None when a chamber is free, the trend is unknown or flat, or the level already closes it (rule 2 then
    says that the drum is full). Without `days_until_free` among the figures no other chamber is in sight.
    """
    batch = drum.filling
    if batch is None or drum.state is not DrumState.IN_SERVICE:
        return ()
    chambers = [p for p in drum.places if p.kind is PlaceKind.CHAMBER and p.uid != batch.place_uid]
    if any(drum.is_free(p) for p in chambers):
        return ()
    if level_stands_at_mark(batch.levels, settings.close_mark_percent, now):
        return ()
    full_in = days_until_mark(batch, settings.close_mark_percent, now)
    if full_in is None or full_in > settings.foresight_days:
        return ()
    waits = [wait for p in chambers if (wait := days_until_free(drum, p.uid, settings, now)) is not None]
    if waits and min(waits) <= full_in:
        return ()
    figures = [Figure("days_until_mark", full_in)]
    if (level := latest_level(batch, now)) is not None:
        figures.append(Figure("level_percent", level.percent))
    if waits:
        figures += [Figure("days_until_free", min(waits)), Figure("days_short", min(waits) - full_in)]
    a_bin = _bin_would_do(drum, settings, full_in, now)
    return (
        Proposal(
            rule=Rule.CLASH,
            batch_uid=batch.uid,
            from_stage=Stage.FILLING,
            to_stage=Stage.FILLING,
            reason=Reason.CLASH_CURING_BIN_FREE if a_bin else Reason.CLASH_FORESEEN,
            figures=tuple(figures),
        ),
    )


def days_until_mark(batch: BatchSnapshot, mark_percent: int, now: datetime) -> int | None:
    """Whole days until the trend of its levels meets the mark (0 when there already).

    None with fewer than two levels in 28 days, less than 7 days between first and last, or no rise.
    """
    known = [v for v in batch.levels if now - timedelta(days=TREND_DAYS) <= v.at <= now]
    if len(known) < 2 or known[-1].at - known[0].at < LEAST_SPAN:
        return None
    at_now, per_day = _line(known, now)
    if per_day <= 0:
        return None
    return max(0, (mark_percent - at_now) // per_day)


def _line(levels: list[LevelReading], now: datetime) -> tuple[Fraction, Fraction]:
    """Least squares in exact fractions: percent at `now`, percent a day."""
    days = [Fraction(int((v.at - now).total_seconds()), 86_400) for v in levels]
    mean_day = sum(days, Fraction(0)) / len(days)
    mean = Fraction(sum(v.percent for v in levels), len(levels))
    spread = sum(((day - mean_day) ** 2 for day in days), Fraction(0))
    slope = sum(((d - mean_day) * (v.percent - mean) for d, v in zip(days, levels, strict=True)), Fraction(0))
    per_day = slope / spread
    return mean - per_day * mean_day, per_day


def _days_of_composting(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> int:
    if batch.stage is not Stage.COMPOSTING or batch.composting_since is None:
        return 0
    done = count_warm_days(batch, batch.composting_since, settings, now).counted_days
    return max(0, days_needed(batch, settings, now) - done)


def days_until_free(drum: DrumSnapshot, place_uid: object, settings: SiteSettings, now: datetime) -> int | None:
    """Days until what stands in a chamber has worked and rested, counted ahead; None where nothing says until when."""
    place = next(p for p in drum.places if p.uid == place_uid)
    if place.quarantined or all(batch.place_uid != place_uid for batch in drum.batches):
        return None  # shut, or another drum's batch stands in it: nothing here says until when
    needed = 0
    for batch in drum.batches:
        if batch.place_uid != place_uid:
            continue
        needed = max(needed, _days_of_composting(batch, settings, now))
        if batch.stage is Stage.COMPOSTING:
            needed += settings.curing_days
        elif batch.stage is Stage.CURING and batch.curing_since is not None:
            done = count_warm_days(batch, batch.curing_since, settings, now).counted_days
            needed = max(needed, settings.curing_days - done)
    return days_until_counted(needed, settings, now)


def _bin_would_do(drum: DrumSnapshot, settings: SiteSettings, full_in: int, now: datetime) -> bool:
    """True when a free curing bin holds a batch that is past composting before the chamber is full."""
    chambers = {p.uid for p in drum.places if p.kind is PlaceKind.CHAMBER and not p.quarantined}
    bins = [p for p in drum.places if p.kind is PlaceKind.CURING_BIN and drum.is_free(p)]
    return any(
        bin_.litres * 1000 >= batch_millilitres(batch, settings, now)
        for batch in drum.batches
        for bin_ in bins
        if batch.place_uid in chambers
        and batch.stage in (Stage.COMPOSTING, Stage.CURING, Stage.READY)
        and (wait := days_until_counted(_days_of_composting(batch, settings, now), settings, now)) is not None
        and wait <= full_in
    )
