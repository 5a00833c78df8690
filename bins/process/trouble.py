"""What is wrong with a batch: its findings as of an instant, the causes, and a proposal of what to do.

Only what was seen lately counts, and only since a person last did what was advised: a squeeze from before the browns
went in says nothing about the heap of today. Somebody's "it is well again" clears what was told before it.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Protocol, TypeVar

from bins.process.curing import days_needed
from bins.process.diagnosis import Suspect, diagnose
from bins.process.filling import latest_level
from bins.process.findings import Findings
from bins.process.fresh import batch_millilitres, fresh_in_count
from bins.process.materials import BROWNS_BY_CODE
from bins.process.mix import available_c_to_n, c_to_n
from bins.process.proposal import Figure, Proposal, Rule
from bins.process.remedies import Heap, figures_of
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot
from bins.process.stage import Stage
from bins.process.symptom import Symptom
from bins.process.warmth import count_warm_days

VERSION = "trouble-1"  # the tables of likelihoods.py; raise it when a weight changes
TOLD_HOLDS = timedelta(days=14)  # chosen: two weekly visits; what nobody says again is over
SQUEEZE_HOLDS = timedelta(days=14)  # as for curing: moisture moves slowly in a closed drum
WARMTH_HOLDS = timedelta(days=7)  # chosen: a week later it is another temperature
LEVEL_HOLDS = timedelta(days=28)  # chosen: a heap sinks, but slowly
TROUBLED = (Stage.FILLING, Stage.COMPOSTING, Stage.CURING)


class Dated(Protocol):
    """A reading with its instant."""

    @property
    def at(self) -> datetime: ...


Seen = TypeVar("Seen", bound=Dated)


def decide_trouble(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> tuple[Proposal, ...]:
    """A proposal for each batch with a complaint, by batch uid: the likeliest cause, with the remedy's amounts.

    It changes no stage. `probability_percent` is that of the cause among those known here.
    """
    proposals: list[Proposal] = []
    for batch in sorted(drum.batches, key=lambda one: one.uid):
        suspects = suspects_of(batch, settings, now)
        if not suspects:
            continue
        first = suspects[0]
        amounts = figures_of(first.cause, heap_of(batch, settings, now))
        proposals.append(
            Proposal(
                rule=Rule.TROUBLE,
                batch_uid=batch.uid,
                from_stage=batch.stage,
                to_stage=batch.stage,
                reason=first.cause,
                figures=(
                    Figure("probability_percent", round(100 * first.probability)),
                    *(Figure(name, value) for name, value in amounts.items()),
                ),
                version=VERSION,
            )
        )
    return tuple(proposals)


def suspects_of(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> tuple[Suspect, ...]:
    """The causes of what is wrong with it, the likeliest first; empty where nothing is, or it is finished."""
    return diagnose(findings_of(batch, settings, now)) if batch.stage in TROUBLED else ()


def findings_of(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> Findings:
    """What was told and read of it lately, and what the books know."""
    squeeze = _last(batch.squeezes, batch, now, SQUEEZE_HOLDS)
    warmth = _last(batch.temperatures, batch, now, WARMTH_HOLDS)
    level = latest_level(batch, now)
    carbon = _carbon_range(batch)
    return Findings(
        stage=batch.stage,
        symptoms=symptoms_now(batch, now),
        squeeze=squeeze.felt if squeeze else None,
        drum_c=warmth.drum_c if warmth else None,
        air_c=warmth.air_c if warmth else None,
        level_percent=level.percent if level and now - level.at <= LEVEL_HOLDS else None,
        c_to_n_low=carbon[0] if carbon else None,
        c_to_n_high=carbon[1] if carbon else None,
        days_open=_days(batch.opened_at, now),
        days_closed=_days(batch.closed_at, now) if batch.closed_at else None,
        turned_days_ago=_days(batch.turned_at, now) if batch.turned_at and batch.turned_at <= now else None,
        fresh_percent=_fresh_percent(batch, settings, now),
    )


def symptoms_now(batch: BatchSnapshot, now: datetime) -> frozenset[Symptom]:
    """Everything told within a fortnight, since the last "it is well again" and the last remedy.

    A bad smell that a visit was asked about counts as told, until another visit says that it is gone.
    """
    told = [one.told for one in batch.symptoms if _counts(one, batch, now, TOLD_HOLDS)]
    found = frozenset().union(*told)
    smell = _last(batch.smells, batch, now, TOLD_HOLDS)
    return found | {Symptom.SMELL} if smell is not None and smell.bad else found


def heap_of(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> Heap:
    """What a remedy's amounts rest on."""
    findings = findings_of(batch, settings, now)
    return Heap(
        place_litres=batch.place_litres,
        level_percent=findings.level_percent,
        browns=BROWNS_BY_CODE[settings.browns],
        is_filling=batch.stage is Stage.FILLING,
        squeeze=findings.squeeze,
        went_in=batch.went_in,
        wait_days=_wait_days(batch, settings, now),
    )


def _counts(one: Dated, batch: BatchSnapshot, now: datetime, holds: timedelta) -> bool:
    since = _well_since(batch, now)
    return (since is None or one.at > since) and now - holds <= one.at <= now


def _well_since(batch: BatchSnapshot, now: datetime) -> datetime | None:
    """The last remedy or "it is well again": what was seen before says nothing any more."""
    well = [one.at for one in batch.symptoms if not one.told and one.at <= now]
    remedied = [batch.remedied_at] if batch.remedied_at is not None and batch.remedied_at <= now else []
    return max([*well, *remedied], default=None)


def _last(seen: Sequence[Seen], batch: BatchSnapshot, now: datetime, holds: timedelta) -> Seen | None:
    return next((one for one in reversed(seen) if _counts(one, batch, now, holds)), None)


def _carbon_range(batch: BatchSnapshot) -> tuple[float, float] | None:
    if not any(one.dry_kg * one.material.nitrogen_dry > 0 for one in batch.went_in):
        return None
    return available_c_to_n(batch.went_in), c_to_n(batch.went_in)


def _fresh_percent(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> float | None:
    """Scraps since the present count of days began; None while it fills, where all scraps are fresh."""
    if batch.stage is Stage.FILLING:
        return None
    volume = batch_millilitres(batch, settings, now)
    added = sum(one.millilitres for one in fresh_in_count(batch, now))
    return 100 * added / volume if volume else 0.0


def _wait_days(batch: BatchSnapshot, settings: SiteSettings, now: datetime) -> int | None:
    """Days that it still has to work or rest by the rule's count; None while it fills."""
    if batch.stage is Stage.CURING and batch.curing_since is not None:
        return settings.curing_days - count_warm_days(batch, batch.curing_since, settings, now).counted_days
    if batch.stage is not Stage.COMPOSTING or batch.composting_since is None:
        return None
    done = count_warm_days(batch, batch.composting_since, settings, now).counted_days
    return days_needed(batch, settings, now) - done


def _days(since: datetime, now: datetime) -> int:
    return max(0, (now - since) // timedelta(days=1))
