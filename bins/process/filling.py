"""Rule 2 (when an open chamber closes), the choice of the next one, and rule 4 (none is empty).

Closes when the level stood at the close mark after a turn and again at a later visit (fresh scraps sink), or
when the longest fill is over, another chamber is empty and this one is at least half full. A date alone
never shuts a site: without an empty chamber, or in winter, only the level speaks.

    readings (percent, t = after a turn)   closes?
    75t                                    no: not seen again
    75t, 74                                no: it sank
    75t, 75                                yes
    75, 75                                 no: neither after a turn
    75t, 74, 75                            no: the run was broken, a new turn has to start it
"""

from datetime import datetime, timedelta
from itertools import takewhile

from bins.process.proposal import Figure, Proposal, Reason, Rule
from bins.process.reading import LevelReading
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, DrumState, PlaceKind, PlaceSnapshot
from bins.process.stage import Stage


def decide_filling(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> tuple[Proposal, ...]:
    """Nought or one proposal to close the drum's open batch, as of `now` (aware).

    With no empty chamber and the level at the mark the reason is NO_EMPTY_PLACE and there is no next place.
    A paused drum or one out of service gets none. Raises ValueError only through its parts.
    """
    batch = drum.filling
    if batch is None or drum.state is not DrumState.IN_SERVICE:
        return ()
    if level_stands_at_mark(batch.levels, settings.close_mark_percent, now):
        return (_closing(drum, batch, settings, now, Reason.LEVEL_AT_MARK),)
    if _past_longest_fill(drum, batch, settings, now):
        return (_closing(drum, batch, settings, now, Reason.PAST_LONGEST_FILL),)
    return ()


def caretaker_closes(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> Proposal | None:
    """The proposal that the caretaker's word makes, whatever the level; None if nothing is filling."""
    batch = drum.filling
    return None if batch is None else _closing(drum, batch, settings, now, Reason.CARETAKER_CLOSES)


def next_chamber(drum: DrumSnapshot, after_place_uid: object) -> PlaceSnapshot | None:
    """The free chamber that follows in the order of the marks (A, B, A ...), None when none is free."""
    chambers = sorted(
        (place for place in drum.places if place.kind is PlaceKind.CHAMBER), key=lambda p: (p.mark, p.uid)
    )
    here = next((i for i, place in enumerate(chambers) if place.uid == after_place_uid), -1)
    following = chambers[here + 1 :] + chambers[: max(here, 0)]
    return next((place for place in following if drum.is_free(place)), None)


def level_stands_at_mark(levels: tuple[LevelReading, ...], mark_percent: int, now: datetime) -> bool:
    """True when the unbroken run of readings at or above the mark, up to the last one, holds one that was
    read after a turn and is followed by a later one (two at the same instant are not two visits)."""
    known = [level for level in levels if level.at <= now]
    run = list(takewhile(lambda level: level.percent >= mark_percent, reversed(known)))
    return any(level.turned and level.at < run[0].at for level in run)


def latest_level(batch: BatchSnapshot, now: datetime) -> LevelReading | None:
    """The last level read by `now`, None before the first."""
    return next((level for level in reversed(batch.levels) if level.at <= now), None)


def _past_longest_fill(drum: DrumSnapshot, batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> bool:
    level = latest_level(batch, now)
    return (
        not settings.winter
        and now - batch.opened_at >= timedelta(days=settings.longest_fill_days)
        and level is not None
        and level.percent >= settings.least_fill_percent
        and next_chamber(drum, batch.place_uid) is not None
    )


def _closing(
    drum: DrumSnapshot, batch: BatchSnapshot, settings: SiteSettings, now: datetime, reason: Reason
) -> Proposal:
    following = next_chamber(drum, batch.place_uid)
    level = latest_level(batch, now)
    figures = [
        Figure("days_open", (now - batch.opened_at).days),
        Figure("longest_fill_days", settings.longest_fill_days),
        Figure("close_mark_percent", settings.close_mark_percent),
    ]
    if level is not None:
        figures.append(Figure("level_percent", level.percent))
    if following is None and reason is Reason.LEVEL_AT_MARK:
        reason = Reason.NO_EMPTY_PLACE
    return Proposal(
        rule=Rule.CLOSE,
        batch_uid=batch.uid,
        from_stage=Stage.FILLING,
        to_stage=Stage.COMPOSTING,
        reason=reason,
        next_place_uid=following.uid if following else None,
        figures=tuple(figures),
    )
