"""Rule 5: composting becomes curing, by two cool temperatures or by days.

Cool: two temperatures 1 to 10 days apart, each after a turn, each less than 6 °C above the air beside the
drum, nothing warmer between or after, and the squeeze not dry. Both must be above 10 °C: a frozen drum is as
cool as its air and not finished. Days: 56 counted days (warmth.py), no bad smell, the squeeze not dry.

"Not dry" needs a squeeze of the last 14 days: a dry drum stops and looks done, so not knowing isn't enough.
asking.py asks for it in time. Worked (air 18 °C, squeeze right); AgriFutures curing guide:

    after-turn readings        curing?
    22 °C, then 22 a day on    yes
    22 °C, then 24 a day on    no: 24 is 6 above, not less
    22 °C, then 22 at 11 days  no: too far apart
"""

from datetime import datetime, timedelta

from bins.process.fresh import delay_days, is_too_much
from bins.process.proposal import Figure, Proposal, Reason, Rule
from bins.process.reading import Squeeze, TemperatureReading
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot
from bins.process.stage import Stage
from bins.process.warmth import count_warm_days

LEAST_APART = timedelta(days=1)  # chosen: two readings of one day are one reading
MOST_APART = timedelta(days=10)  # chosen: further apart they tell of two different heaps
SQUEEZE_HOLDS = timedelta(days=14)  # chosen: two weekly visits; moisture moves slowly in a closed drum


def decide_curing(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> tuple[Proposal, ...]:
    """A proposal for each composting batch that has cooled down or whose days are full, by batch uid.

    None while too many fresh scraps wait for rule 7's answer.
    """
    proposals: list[Proposal] = []
    for batch in drum.in_stage(Stage.COMPOSTING):
        if is_too_much(batch, settings, now) or not is_known_not_dry(batch, now):
            continue
        if pair := cool_pair(batch, settings, now):
            proposals.append(_by_cooling(batch, pair, settings, now))
        elif is_days_full(batch, settings, now) and not smells_bad(batch, now):
            proposals.append(_by_days(batch, settings, now))
    return tuple(proposals)


def cool_pair(
    batch: BatchSnapshot, settings: SiteSettings, now: datetime
) -> tuple[TemperatureReading, TemperatureReading] | None:
    """The two readings that show it has cooled, the later one the last after a turn; None without.

    A reading without the air beside it shows nothing either way and is passed over.
    """
    since = batch.composting_since
    turned = [
        t for t in batch.temperatures if t.turned and t.air_c is not None and since is not None and since < t.at <= now
    ]
    for earlier in reversed(turned[:-1]):
        between = [t for t in turned if t.at >= earlier.at]
        if not all(_is_cool(t, settings) for t in between):
            return None
        if LEAST_APART <= turned[-1].at - earlier.at <= MOST_APART:
            return earlier, turned[-1]
    return None


def days_needed(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> int:
    """Composting days the batch needs in all: the site's number and what fresh scraps add."""
    return settings.composting_days + delay_days(batch, settings, now)


def is_days_full(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> bool:
    """True when enough days have counted since composting began."""
    if batch.composting_since is None:
        return False
    count = count_warm_days(batch, batch.composting_since, settings, now)
    return count.counted_days >= days_needed(batch, settings, now)


def is_known_not_dry(batch: BatchSnapshot, now: datetime) -> bool:
    """True when the last squeeze is at most 14 days old and wasn't dry."""
    last = next((s for s in reversed(batch.squeezes) if s.at <= now), None)
    return last is not None and now - last.at <= SQUEEZE_HOLDS and last.felt is not Squeeze.DRY


def smells_bad(batch: BatchSnapshot, now: datetime) -> bool:
    """True when the last visit that said anything about smell called it bad, however long ago."""
    last = next((s for s in reversed(batch.smells) if s.at <= now), None)
    return last is not None and last.bad


def _is_cool(reading: TemperatureReading, settings: SiteSettings) -> bool:
    return (
        reading.air_c is not None
        and reading.drum_c - reading.air_c < settings.cool_within_c
        and reading.drum_c > settings.warm_above_c
    )


def _day_figures(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> tuple[Figure, ...]:
    if batch.composting_since is None:
        return ()
    count = count_warm_days(batch, batch.composting_since, settings, now)
    return (
        Figure("days_counted", count.counted_days),
        Figure("days_elapsed", count.elapsed_days),
        Figure("days_read", count.read_days),
        Figure("days_needed", days_needed(batch, settings, now)),
    )


def _by_cooling(
    batch: BatchSnapshot,
    pair: tuple[TemperatureReading, TemperatureReading],
    settings: SiteSettings,
    now: datetime,
) -> Proposal:
    figures = [Figure("cool_within_c", settings.cool_within_c)]
    for name, reading in zip(("first", "second"), pair, strict=True):
        figures.append(Figure(f"{name}_drum_c", reading.drum_c))
        if reading.air_c is not None:
            figures.append(Figure(f"{name}_air_c", reading.air_c))
    figures += _day_figures(batch, settings, now)
    return _to_curing(batch, Reason.COOLED_DOWN, tuple(figures))


def _by_days(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> Proposal:
    return _to_curing(batch, Reason.DAYS_COMPOSTED, _day_figures(batch, settings, now))


def _to_curing(batch: BatchSnapshot, reason: Reason, figures: tuple[Figure, ...]) -> Proposal:
    return Proposal(
        rule=Rule.CURE,
        batch_uid=batch.uid,
        from_stage=Stage.COMPOSTING,
        to_stage=Stage.CURING,
        reason=reason,
        figures=figures,
    )
