"""What a visit should ask beyond its three questions: only what a decision needs this week.

batch                                        asked
composting, squeeze too old, days nearly up  squeeze
composting, last temperature cool            a temperature after a turn (with the air), and the squeeze
composting, smelt bad last, days nearly up   smell: without a better word it could never go on to curing
curing, days nearly up, no test passed       a test
"""

from datetime import datetime, timedelta
from enum import StrEnum
from uuid import UUID

from bins.process.curing import SQUEEZE_HOLDS, days_needed, smells_bad
from bins.process.ready import latest_tests
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot
from bins.process.stage import Stage
from bins.process.warmth import count_warm_days

ASK_AHEAD_DAYS = 7  # chosen: one weekly visit before the decision falls
TEST_AHEAD_DAYS = 14  # chosen: the bag takes seven days, and a visit before and after it


class Wanted(StrEnum):
    """A question that joins the visit form. Stored with the visit as the reason it was asked."""

    TEMPERATURE_AFTER_TURN = "temperature_after_turn"
    SQUEEZE = "squeeze"
    SMELL = "smell"
    MATURITY_TEST = "maturity_test"
    FLASK_TEST = "flask_test"  # most_telling.py asks for it, and for the level
    LEVEL = "level"


def readings_wanted(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> tuple[tuple[UUID, Wanted], ...]:
    """The batch and the question, by batch uid, then in the order above; empty when nothing hangs on it."""
    wanted: list[tuple[UUID, Wanted]] = []
    for batch in sorted(drum.batches, key=lambda one: one.uid):
        if batch.stage is Stage.COMPOSTING:
            wanted += [(batch.uid, what) for what in _for_curing(batch, settings, now)]
        elif batch.stage is Stage.CURING and _test_due(batch, settings, now):
            wanted.append((batch.uid, Wanted.MATURITY_TEST))
    return tuple(wanted)


def _for_curing(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> list[Wanted]:
    if batch.composting_since is None:
        return []
    done = count_warm_days(batch, batch.composting_since, settings, now).counted_days
    nearly = done >= days_needed(batch, settings, now) - ASK_AHEAD_DAYS
    cool = is_cool(batch, settings, now)
    wanted = [Wanted.TEMPERATURE_AFTER_TURN] if cool else []
    squeezed = next((s for s in reversed(batch.squeezes) if s.at <= now), None)
    # asked again a week before it grows too old, so that the decision never waits for a visit
    stale = squeezed is None or now - squeezed.at > SQUEEZE_HOLDS - timedelta(days=ASK_AHEAD_DAYS)
    if stale and (nearly or cool):
        wanted.append(Wanted.SQUEEZE)
    if nearly and smells_bad(batch, now):
        wanted.append(Wanted.SMELL)
    return wanted


def is_cool(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> bool:
    """Whether its last temperature since composting began was hardly above the air's, and not a frozen one's."""
    since = batch.composting_since
    last = next((t for t in reversed(batch.temperatures) if since is not None and since < t.at <= now), None)
    return (
        last is not None
        and last.air_c is not None
        and last.drum_c - last.air_c < settings.cool_within_c
        and last.drum_c > settings.warm_above_c
    )


def _test_due(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> bool:
    if batch.curing_since is None or any(test.passed for test in latest_tests(batch, now)):
        return False
    done = count_warm_days(batch, batch.curing_since, settings, now).counted_days
    return done >= settings.curing_days - TEST_AHEAD_DAYS
