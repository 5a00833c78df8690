"""Rule 10: winter as a season of the site. No closing by date (filling.py), frozen drums rest, room counted.

Outdoors winter is between two dates of the site, or while the month's mean air is below 5 °C. Indoors: never.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from bins.process.filling import latest_level, next_chamber
from bins.process.proposal import Figure, Proposal, Reason, Rule
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, PlaceKind
from bins.process.warmth import READING_HOLDS_DAYS

WINTER_BELOW_C = Decimal(5)  # chosen; decay runs at a tenth of that at 30 °C, or none (Rosso et al. 1993)
FROZEN_AT_C = Decimal(0)  # water
PREPARE_DAYS = 28  # chosen: four weeks before


@dataclass(frozen=True, slots=True)
class DayOfYear:
    """A day that returns each year. ValueError for one that doesn't (29 February included)."""

    month: int
    day: int

    def __post_init__(self) -> None:
        date(2001, self.month, self.day)  # any year without a leap day


@dataclass(frozen=True, slots=True)
class WinterRule:
    """When the site's winter is. `first` is its first day, `spring` the first day after it; both or none."""

    indoor: bool = False
    first: DayOfYear | None = None
    spring: DayOfYear | None = None

    def __post_init__(self) -> None:
        if (self.first is None) != (self.spring is None):
            raise ValueError("winter has a first day and a day of spring, or neither")


def is_winter(rule: WinterRule, air_c_by_month: tuple[Decimal, ...], on: date) -> bool:
    """True when `on` (the site's local date) is in the site's winter. Twelve means, January first."""
    if rule.indoor:
        return False
    if rule.first is None or rule.spring is None:
        return air_c_by_month[on.month - 1] < WINTER_BELOW_C
    first, spring = (rule.first.month, rule.first.day), (rule.spring.month, rule.spring.day)
    today = (on.month, on.day)
    return first <= today < spring if first <= spring else today >= first or today < spring


def days_until_winter(rule: WinterRule, air_c_by_month: tuple[Decimal, ...], on: date) -> int | None:
    """Days from `on` to the next first day of winter: 0 while in it, None where there is none."""
    return _days_until(rule, air_c_by_month, on, winter=True)


def days_until_spring(rule: WinterRule, air_c_by_month: tuple[Decimal, ...], on: date) -> int | None:
    """Days from `on` to the first day that isn't winter: 0 outside it, None where winter never ends."""
    return _days_until(rule, air_c_by_month, on, winter=False)


def is_frozen(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> bool:
    """True when the batch is taken for frozen: its last temperature of the week is 0 °C or less, or, without
    one, it is winter and the month's mean is 0 °C or less. It isn't turned then and no turn was missed."""
    week = now - timedelta(days=READING_HOLDS_DAYS)
    last = next((t for t in reversed(batch.temperatures) if week < t.at <= now), None)
    if last is not None:
        return last.drum_c <= FROZEN_AT_C
    return settings.winter and settings.air_c_by_month[now.month - 1] <= FROZEN_AT_C


def pails_until_spring(
    drum: DrumSnapshot, settings: SiteSettings, pail_millilitres: int, browns_millilitres: int, now: datetime
) -> int:
    """Full pails, each with its browns, that the drum still takes up to the close mark, rounded down.

    Nothing is taken to sink: frozen scraps don't (chosen, the careful side). Counts the open chamber's room
    and every free chamber. ValueError unless the pail is at least 1 ml and the browns 0 or more.
    """
    if pail_millilitres < 1 or browns_millilitres < 0:
        raise ValueError("a pail has at least 1 ml and its browns none or more")
    mark = settings.close_mark_percent
    room = sum(p.litres * 10 * mark for p in drum.places if p.kind is PlaceKind.CHAMBER and drum.is_free(p))
    if (batch := drum.filling) is not None:
        level = latest_level(batch, now)
        room += batch.place_litres * 10 * max(0, mark - (0 if level is None else level.percent))
    return room // (pail_millilitres + browns_millilitres)


def decide_winter(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> tuple[Proposal, ...]:
    """Nought or one warning for the filling batch: winter is near and no chamber is empty to go into it with.

    From `settings.winter_in_days` of 28 down to 1; None there (indoors, or not gathered) gives none.
    """
    batch, ahead = drum.filling, settings.winter_in_days
    if batch is None or ahead is None or not 1 <= ahead <= PREPARE_DAYS:
        return ()
    if next_chamber(drum, batch.place_uid) is not None:
        return ()
    return (
        Proposal(
            rule=Rule.WINTER,
            batch_uid=batch.uid,
            from_stage=batch.stage,
            to_stage=batch.stage,
            reason=Reason.WINTER_NEEDS_EMPTY_CHAMBER,
            figures=(Figure("days_until_winter", ahead),),
        ),
    )


def _days_until(rule: WinterRule, means: tuple[Decimal, ...], on: date, *, winter: bool) -> int | None:
    days = range(366)
    return next((d for d in days if is_winter(rule, means, on + timedelta(days=d)) is winter), None)
