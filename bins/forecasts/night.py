"""The night's forecast of one building: live each lot a day further, look ahead, say where two hatches clash.

Named by the local date; sees the books as of the midnight before. Of missed nights only the last one looks ahead: the
kept states live all missed days at once.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID, uuid5

from django.db.models import Max

from bins.decisions.gather import settings_of
from bins.forecasts import rows, states
from bins.forecasts.ahead import has_work, inflows, turn_every_days
from bins.forecasts.books import Lot, end_of, lots_at_end_of
from bins.forecasts.clashes import clashes, free_places
from bins.forecasts.hits import settle
from bins.forecasts.learning import learn, taught
from bins.models import Decision, Forecast
from bins.process.model.border import Future, Hindcast, Inflow, Kept, Outlook
from bins.process.model.forecast import forecast, prior_only
from bins.process.model.hindcast import hindcast
from bins.process.model.results import Clash
from bins.process.model.results import Forecast as Foreseen
from bins.process.proposal import Rule
from bins.process.stage import Stage
from bins.process.with_remedy import with_remedy
from households.models import Building, Job

NAME = "forecast"
AT = dt.time(4, 0)  # chosen: after the night and the tidying, before anybody is up
HORIZON_DAYS = 180  # chosen: twice the 91 days after which compost was stable in print
PRIOR_EVERY_DAYS = 7  # it costs as much as the forecast itself
ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Gathered:
    """The books at the end of `day`, and the state from which each lot (by its key) goes on."""

    day: dt.date
    lots: tuple[Lot, ...]
    futures: Mapping[int, Future]
    kept: Mapping[int, Kept]
    wants_prior: frozenset[int]
    free: Mapping[int, tuple[int, bool]]  # by drum: empty chambers, and whether a curing bin is empty
    advised: Mapping[int, Mapping[str, float]]  # of lots in trouble: the amounts of what is advised against it
    noon: dt.datetime  # of the first day ahead: when that would be done


@dataclass(frozen=True)
class Thought:
    """What the model made of one lot; `foreseen` None for one that was taken out."""

    lot: Lot
    past: Hindcast
    foreseen: Foreseen | None = None
    prior: Foreseen | None = None
    clash: Clash | None = None
    remedied: Foreseen | None = None  # the same with what is advised against its trouble


@dataclass(frozen=True)
class Decided:
    day: dt.date
    thoughts: tuple[Thought, ...]
    lots: tuple[Lot, ...]


def as_of(building: Building, day: dt.date) -> dt.datetime:
    return building.instant(day, AT)


def promise(building: Building, day: dt.date) -> None:
    """Promise the forecast of a day, where there is anything to foretell. Two queries."""
    at = as_of(building, day)
    if has_work(building, at):
        Job.plan(building, NAME, day.isoformat(), at)


def gather(building: Building, day: dt.date) -> Gathered:
    """What the night of `day` knows: all that counts before its midnight. 22 queries, however many lots."""
    at, ended = as_of(building, day), day - ONE_DAY
    lots = lots_at_end_of(building, ended, at)
    mine = [lot.batch.pk for lot in lots if lot.can_be_foretold]
    known = taught(building)
    lots = tuple(lot for lot in lots if lot.stage is not Stage.HARVESTED or lot.batch.pk not in known)
    coming = inflows(building, ended, at)
    asked = dict(
        Forecast.objects.within(building)
        .filter(batch__in=mine, has_prior=True, made_on__gt=ended - dt.timedelta(days=PRIOR_EVERY_DAYS))
        .exclude(made_on=ended)
        .order_by()
        .values_list("batch")
        .annotate(Max("made_on"))
    )
    return Gathered(
        day=ended,
        lots=lots,
        futures={
            lot.batch.pk: Future(
                inflow=coming.get(lot.batch.drum_id, Inflow()) if lot.stage is Stage.FILLING else Inflow(),
                turn_every_days=turn_every_days(lot),
                horizon_days=HORIZON_DAYS,
                settings=settings_of(lot.batch.drum.site, ended),
            )
            for lot in lots
        },
        kept=states.kept_of(building, {lot.batch.pk: (lot.history, _end(lot, ended)) for lot in lots}),
        wants_prior=frozenset(key for key in mine if key not in asked),
        free=free_places(building, lots),
        advised=dict(
            Decision.objects.within(building).proposed().filter(rule=str(Rule.TROUBLE)).values_list("batch", "figures")
        ),
        noon=end_of(building, ended, at) + dt.timedelta(hours=12),
    )


def decide(gathered: Gathered) -> Decided:
    """Live and look ahead; touches no database. Seconds for a building, whatever the number of its drums."""
    lots = [lot for lot in gathered.lots if lot.can_be_foretold]
    kept = [gathered.kept.get(lot.batch.pk) for lot in lots]
    ends = [_end(lot, gathered.day) for lot in lots]
    pasts = hindcast([lot.history for lot in lots], ends, kept)
    ahead = [at for at, lot in enumerate(lots) if lot.is_foretold]
    outlooks = {at: Outlook(lots[at].history, pasts[at], gathered.futures[lots[at].batch.pk]) for at in ahead}
    asked = [at for at in ahead if lots[at].batch.pk in gathered.wants_prior]
    better = _remedied(gathered, lots, outlooks)
    # All in one pass: beside the others a further outlook costs next to nothing.
    made = forecast([*outlooks.values(), *better.values()])
    foreseen = dict(zip(outlooks, made[: len(outlooks)], strict=True))
    remedied = dict(zip(better, made[len(outlooks) :], strict=True))
    priors = dict(zip(asked, prior_only([outlooks[at] for at in asked]), strict=True))
    short = clashes(gathered.lots, {lots[at].batch.pk: one for at, one in foreseen.items()}, gathered.free)
    return Decided(
        gathered.day,
        tuple(
            Thought(lot, pasts[at], foreseen.get(at), priors.get(at), short.get(lot.batch.pk), remedied.get(at))
            for at, lot in enumerate(lots)
        ),
        gathered.lots,
    )


def apply(building: Building, decided: Decided, name_space: UUID) -> None:
    """Write the forecasts and the states they go on from, and let go of what is too old. Building locked."""
    kept, made = [], []
    for thought in decided.thoughts:
        batch, past = thought.lot.batch, thought.past
        if thought.lot.stage is Stage.HARVESTED:
            learn(building, batch, past, name_space)
            continue
        kept.append(states.state_of(building, batch, thought.lot.history, past.kept, name_space))
        if thought.foreseen is not None:
            values = rows.values_of(thought.foreseen, thought.prior, thought.clash, thought.remedied)
            uid = uuid5(name_space, f"forecast {batch.uid}")
            made.append(Forecast(building=building, uid=uid, batch=batch, made_on=thought.foreseen.made_on, **values))
    states.keep(kept)
    rows.keep(made)
    settle(building, decided.lots, name_space)
    living = {one.lot.batch.pk: one.past.kept.day for one in decided.thoughts if one.lot.stage.is_live}
    states.let_go(building, living)
    rows.let_go(building, decided.day)


def _remedied(gathered: Gathered, lots: Sequence[Lot], outlooks: Mapping[int, Outlook]) -> dict[int, Outlook]:
    """The outlooks of lots in trouble with the remedy done tomorrow; none where the model would see no difference."""
    found: dict[int, Outlook] = {}
    for at, outlook in outlooks.items():
        batch = lots[at].batch
        figures = gathered.advised.get(batch.pk)
        changed = with_remedy(outlook, figures, batch.drum.site.browns, gathered.noon) if figures else None
        if changed is not None:
            found[at] = changed
    return found


def _end(lot: Lot, day: dt.date) -> dt.date:
    """The last day that is lived: for a lot that was taken out that of its harvest."""
    ended = lot.batch.ended_at
    if lot.stage is not Stage.HARVESTED or ended is None:
        return day
    return min(day, max(lot.history.day_of(ended), lot.history.first_day))
