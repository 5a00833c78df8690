"""The one measurement that would decide most this week, in days by which a date could move.

    batch                                          asked                         days at stake (chosen, see below)
    composting, days full, squeeze unknown or dry  squeeze                       7 and those it has waited already
    composting, days full, smelt bad last          smell                         the same
    curing, days full, no test passed              a test                        the same
    composting, cool after a turn, moisture known  a second temperature          the days it need not wait any more
    composting past half its days, or curing       a flask test                  half of what the date is uncertain by
    filling, fewer than two levels in four weeks   the level                     how far ahead a full site is foreseen

Temperature and level hardly sharpen the ready date; of the cheap readings the flask does. Ties go to the table's order,
then to the batch's uid.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from bins.process.asking import Wanted, is_cool
from bins.process.curing import days_needed, is_days_full, is_known_not_dry, smells_bad
from bins.process.maturity import FlaskTest
from bins.process.ready import latest_tests
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot
from bins.process.stage import Stage
from bins.process.warmth import count_warm_days

VISIT_EVERY_DAYS = 7  # chosen: what is not read at this visit waits for the next
# Karnchanawong & Suriyanon 2011: stable compost at 56 to 91 days, so a date by days alone is 35 days wide.
SPREAD_DAYS, SPREAD_OVER_DAYS = 35, 91
FLASK_HALVES = 2  # chosen: a first trial of the physical model narrowed the range by about half with the reading
FLASK_HOLDS = timedelta(days=21)  # chosen: after three weeks a flask tells of another heap
LEVELS_WITHIN = timedelta(days=28)  # clash.py draws its line through four weeks
LEAST_LEVELS = 2  # through one point goes any line

ORDER = (
    Wanted.SQUEEZE,
    Wanted.SMELL,
    Wanted.MATURITY_TEST,
    Wanted.TEMPERATURE_AFTER_TURN,
    Wanted.FLASK_TEST,
    Wanted.LEVEL,
)


@dataclass(frozen=True, slots=True)
class Telling:
    """A measurement and the days at stake, at least one. `what` names the reason as well."""

    batch_uid: UUID
    what: Wanted
    days: int


def most_telling(
    drum: DrumSnapshot, settings: SiteSettings, now: datetime, tests_running: frozenset[UUID] = frozenset()
) -> Telling | None:
    """The drum's one reading, None where none would decide anything. `tests_running`: batches with a test begun."""
    found: list[Telling] = []
    for batch in drum.batches:
        found += [
            Telling(batch.uid, what, days)
            for what, days in _of(batch, drum, settings, now)
            if days > 0 and not (batch.uid in tests_running and what in (Wanted.MATURITY_TEST, Wanted.FLASK_TEST))
        ]
    return the_one(found)


def the_one(found: Iterable[Telling]) -> Telling | None:
    """Of several the one with most days at stake."""
    return min(found, key=lambda one: (-one.days, ORDER.index(one.what), one.batch_uid), default=None)


def _of(batch: BatchSnapshot, drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> list[tuple[Wanted, int]]:
    match batch.stage:
        case Stage.FILLING:
            return [(Wanted.LEVEL, settings.foresight_days)] if _lacks_levels(batch, drum, now) else []
        case Stage.COMPOSTING:
            return _composting(batch, settings, now)
        case Stage.CURING:
            return _curing(batch, settings, now)
    return []


def _composting(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> list[tuple[Wanted, int]]:
    if batch.composting_since is None:
        return []
    done = count_warm_days(batch, batch.composting_since, settings, now).counted_days
    needed = days_needed(batch, settings, now)
    known = is_known_not_dry(batch, now)
    found: list[tuple[Wanted, int]] = []
    if is_days_full(batch, settings, now):
        waits = VISIT_EVERY_DAYS + done - needed
        found += [(Wanted.SQUEEZE, waits)] if not known else []
        found += [(Wanted.SMELL, waits)] if smells_bad(batch, now) else []
    elif is_cool(batch, settings, now):
        found.append((Wanted.TEMPERATURE_AFTER_TURN if known else Wanted.SQUEEZE, needed - done))
    if 2 * done >= needed and not _has_flask(batch, now):
        found.append((Wanted.FLASK_TEST, _flask_days(needed - done + settings.curing_days)))
    return found


def _curing(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> list[tuple[Wanted, int]]:
    if batch.curing_since is None:
        return []
    done = count_warm_days(batch, batch.curing_since, settings, now).counted_days
    left = settings.curing_days - done
    found: list[tuple[Wanted, int]] = []
    if left <= 0 and not any(test.passed for test in latest_tests(batch, now)):
        found.append((Wanted.MATURITY_TEST, VISIT_EVERY_DAYS - left))
    if left > 0 and not _has_flask(batch, now):
        found.append((Wanted.FLASK_TEST, _flask_days(left)))
    return found


def _flask_days(days_left: int) -> int:
    """Half of the date's uncertainty, which shrinks with the days that are left."""
    left = min(SPREAD_OVER_DAYS, max(0, days_left))
    return round(SPREAD_DAYS * left / SPREAD_OVER_DAYS / FLASK_HALVES)


def _has_flask(batch: BatchSnapshot, now: datetime) -> bool:
    return any(isinstance(test, FlaskTest) and now - FLASK_HOLDS <= test.read_at <= now for test in batch.tests)


def _lacks_levels(batch: BatchSnapshot, drum: DrumSnapshot, now: datetime) -> bool:
    """A week after it opened, with another chamber still taken: only then is there a clash to foresee."""
    seen = sum(now - LEVELS_WITHIN < level.at <= now for level in batch.levels)
    is_young = now - batch.opened_at < timedelta(days=VISIT_EVERY_DAYS)
    return seen < LEAST_LEVELS and not is_young and not any(drum.is_free(place) for place in drum.places)
