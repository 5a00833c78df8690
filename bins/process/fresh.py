"""Rule 7: fresh scraps in a batch that is past filling.

    stage        how much                          follows
    composting   under 2 % of its volume, in all   a note; composting takes up to 14 days longer
    composting   2 % or more                       the count of composting days starts again
    curing       any                               back to composting
    ready        any                               the caretaker decides: take it out, or back

Counted since the present count began, scraps taken out again left aside. Amounts add up: ten pails of 1 %
are 10 %, otherwise a wrong hatch used every day would never be too much.
"""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from bins.process.filling import latest_level
from bins.process.proposal import Figure, Proposal, Reason, Rule
from bins.process.reading import FreshScraps
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot
from bins.process.stage import Stage

NOTE_UNDER_PERCENT = 2  # chosen: what a few careless pails are
LONGEST_DELAY_DAYS = 14  # chosen: the hot weeks of a tumbler; a share just under 2 % waits for all of it


def decide_fresh(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> tuple[Proposal, ...]:
    """A proposal for each batch past filling that holds fresh scraps, by batch uid.

    FRESH_NOTED and FRESH_WHILE_READY change no stage; FRESH_TOO_MUCH keeps the stage and restarts the count
    at `counts_from`, the instant of the last scraps.
    """
    proposals: list[Proposal] = []
    for batch in sorted(drum.batches, key=lambda one: one.uid):
        scraps = fresh_in_count(batch, now)
        if not scraps:
            continue
        if batch.stage is Stage.COMPOSTING and not is_too_much(batch, settings, now):
            proposals.append(_proposal(batch, settings, now, scraps, Stage.COMPOSTING, Reason.FRESH_NOTED))
        elif batch.stage is Stage.COMPOSTING:
            proposals.append(_proposal(batch, settings, now, scraps, Stage.COMPOSTING, Reason.FRESH_TOO_MUCH))
        elif batch.stage is Stage.CURING:
            proposals.append(_proposal(batch, settings, now, scraps, Stage.COMPOSTING, Reason.FRESH_WHILE_CURING))
        else:
            proposals.append(_proposal(batch, settings, now, scraps, Stage.READY, Reason.FRESH_WHILE_READY))
    return tuple(proposals)


def fresh_in_count(batch: BatchSnapshot, now: datetime) -> tuple[FreshScraps, ...]:
    """The scraps still in it that came after the start of its present stage; none while filling or gone."""
    since = {
        Stage.COMPOSTING: batch.composting_since,
        Stage.CURING: batch.curing_since,
        Stage.READY: batch.ready_since,
    }.get(batch.stage)
    if since is None:
        return ()
    return tuple(s for s in batch.fresh_scraps if since < s.at <= now and not s.removed)


def is_too_much(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> bool:
    """True when the fresh scraps make 2 % of the batch's volume or more (exactly 2 % is too much)."""
    added = _millilitres(fresh_in_count(batch, now))
    return added > 0 and added * 100 >= NOTE_UNDER_PERCENT * batch_millilitres(batch, settings, now)


def delay_days(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> int:
    """Days that noted scraps add to composting: 14 x their share / 2 %, rounded up; 0 without any."""
    added = _millilitres(fresh_in_count(batch, now)) if batch.stage is Stage.COMPOSTING else 0
    if added == 0:
        return 0
    full_delay_at = NOTE_UNDER_PERCENT * batch_millilitres(batch, settings, now)
    if full_delay_at == 0:
        return LONGEST_DELAY_DAYS
    return min(LONGEST_DELAY_DAYS, -(-LONGEST_DELAY_DAYS * added * 100 // full_delay_at))


def batch_millilitres(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> int:
    """The batch's volume by its last level; before any level, as if closed at the close mark."""
    level = latest_level(batch, now)
    percent = settings.close_mark_percent if level is None else level.percent
    return batch.place_litres * 10 * percent


def _millilitres(scraps: Iterable[FreshScraps]) -> int:
    return sum(one.millilitres for one in scraps)


def _proposal(
    batch: BatchSnapshot,
    settings: SiteSettings,
    now: datetime,
    scraps: tuple[FreshScraps, ...],
    to_stage: Stage,
    reason: Reason,
) -> Proposal:
    volume = batch_millilitres(batch, settings, now)
    added = _millilitres(scraps)
    figures = [
        Figure("fresh_millilitres", added),
        Figure("batch_millilitres", volume),
        Figure("drop_offs", len(scraps)),
    ]
    if volume:
        figures.append(Figure("share_percent", (Decimal(added * 100) / volume).quantize(Decimal("0.1"))))
    if reason is Reason.FRESH_NOTED:
        figures.append(Figure("delay_days", delay_days(batch, settings, now)))
    goes_back = reason in (Reason.FRESH_TOO_MUCH, Reason.FRESH_WHILE_CURING)
    return Proposal(
        rule=Rule.FRESH,
        batch_uid=batch.uid,
        from_stage=batch.stage,
        to_stage=to_stage,
        reason=reason,
        counts_from=scraps[-1].at if goes_back else None,
        figures=tuple(figures),
    )
