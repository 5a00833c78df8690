"""The books of a building as the physical model takes them: each lot's history, in a fixed number of queries."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q

from bins.care.making import Made, makes_of
from bins.decisions.gather import SQUEEZES, as_test, climate_of, degrees, place_at
from bins.forecasts.learning import learnt_of
from bins.forecasts.parts import browns_part, scraps_part
from bins.forecasts.stays import stays_of
from bins.models import (
    Amendment,
    Batch,
    Contribution,
    Harvest,
    HarvestPart,
    MaturityResult,
    Movement,
    Overs,
    Place,
    Reading,
    StageChange,
    Visit,
)
from bins.process.materials import SHAVINGS
from bins.process.model.border import (
    Addition,
    AirReading,
    Climate,
    HarvestReading,
    Hindcast,
    History,
)
from bins.process.model.shrinking import shrink
from bins.process.reading import LevelReading, SmellReading, SqueezeReading, TemperatureReading
from bins.process.stage import Stage
from households.models import Building, Site

LEAST_LEVEL_DAYS = 2  # through one point goes any line
LEARN_FOR = dt.timedelta(days=14)  # nights that are made up for: a harvest is learnt from within them
MIDNIGHT = dt.time(tzinfo=dt.UTC)
STANDS = {"reverses__isnull": True, "reversed_by__isnull": True}


@dataclass(frozen=True)
class Lot:
    """A lot as of the end of a day. `place`: where it stands; `level_days`: on how many days a level was read.

    `closed_on`, `ready_on`: local days on which that came true, None where it has not.
    """

    batch: Batch
    history: History
    stage: Stage
    place: Place
    level_days: int
    closed_on: dt.date | None
    ready_on: dt.date | None

    @property
    def can_be_foretold(self) -> bool:
        # What stood there before anybody wrote down who brought what is part unknown: no sum can begin from it.
        known = bool(self.history.additions) and not self.batch.from_record
        return known and self.level_days >= LEAST_LEVEL_DAYS

    @property
    def is_foretold(self) -> bool:
        """What is ready or gone needs no forecast."""
        return self.can_be_foretold and self.stage in (Stage.FILLING, Stage.COMPOSTING, Stage.CURING)


@dataclass
class _Books:
    additions: defaultdict[int, list[Addition]] = field(default_factory=lambda: defaultdict(list))
    readings: defaultdict[int, list[Reading]] = field(default_factory=lambda: defaultdict(list))
    changes: defaultdict[int, list[StageChange]] = field(default_factory=lambda: defaultdict(list))
    movements: defaultdict[int, list[Movement]] = field(default_factory=lambda: defaultdict(list))
    results: defaultdict[int, list[MaturityResult]] = field(default_factory=lambda: defaultdict(list))
    # By drum: when, and of which hatch alone.
    turns: defaultdict[int, list[tuple[dt.datetime, int | None]]] = field(default_factory=lambda: defaultdict(list))
    harvests: dict[int, HarvestReading] = field(default_factory=dict)


def standard_offset(building: Building, instant: dt.datetime) -> dt.timedelta:
    """The building's offset from UTC without summer time."""
    local = building.local(instant)
    return (local.utcoffset() or dt.timedelta()) - (local.dst() or dt.timedelta())


def end_of(building: Building, day: dt.date, instant: dt.datetime) -> dt.datetime:
    """The instant at which a day of the model is over: midnight by the standard offset of `instant`."""
    midnight = dt.datetime.combine(day + dt.timedelta(days=1), MIDNIGHT)
    return midnight - standard_offset(building, instant)


def lots_at_end_of(building: Building, day: dt.date, now: dt.datetime) -> tuple[Lot, ...]:
    """Lots that live at the end of a day, or were taken out within two weeks before; by uid. Fifteen queries."""
    end = end_of(building, day, now)
    taken_out = Q(ended_at__gt=end - LEARN_FOR, stage=Stage.HARVESTED)
    batches = list(
        Batch.objects.within(building)
        .filter(Q(ended_at__isnull=True) | Q(ended_at__gt=end) | taken_out, opened_at__lt=end)
        .select_related("drum__site__rules", "started_in")
        .order_by("uid")
    )
    places = {place.pk: place for place in Place.objects.within(building)}
    books = _open(building, batches, end)
    learnt = learnt_of(building)
    offset = standard_offset(building, now)
    air = _air(books)
    makes = makes_of(building, places.values())
    return tuple(
        _lot(building, batch, books, places, makes, learnt[batch.drum.site_id], air, offset, end) for batch in batches
    )


def _open(building: Building, batches: list[Batch], end: dt.datetime) -> _Books:
    """Rows that count before `end`, in order of time."""
    keys = [batch.pk for batch in batches]
    goes_on_in = _family(building, keys)  # what was put together with one of them was fed to it
    books = _Books()
    before = {"counts_at__lt": end, **STANDS}
    order = ("counts_at", "ledger_number")

    def rows(model: Any, **filters: Any) -> Any:
        return model.objects.within(building).filter(**before, **filters).order_by(*order)

    for reading in rows(Reading, batch__in=keys).select_related("visit"):
        books.readings[reading.batch_id].append(reading)
    for change in rows(StageChange, batch__in=keys):
        books.changes[change.batch_id].append(change)
    for movement in rows(Movement, batch__in=keys):
        books.movements[movement.batch_id].append(movement)
    for result in rows(MaturityResult, test__batch__in=keys).select_related("test"):
        books.results[result.test.batch_id].append(result)
    since = min((batch.opened_at for batch in batches), default=end)
    turned = rows(Visit, turned=True, counts_at__gte=since)
    for drum, at, hatch in turned.values_list("drum", "counts_at", "turned_place"):
        books.turns[drum].append((at, hatch))
    cleared = {
        key: max(m.counts_at for m in moves if m.kind == Movement.Kind.TAKEN_OUT)
        for key, moves in books.movements.items()
        if any(m.kind == Movement.Kind.TAKEN_OUT for m in moves)
    }
    for brought in rows(Contribution, batch__in=goes_on_in):
        out_again = cleared.get(brought.batch_id)
        if brought.place_id is None or out_again is None or brought.counts_at > out_again:
            books.additions[goes_on_in[brought.batch_id]].append(_brought(brought))
    for added in rows(Amendment, batch__in=goes_on_in):
        books.additions[goes_on_in[added.batch_id]].append(_amended(added))
    for overs in rows(Overs, batch__in=goes_on_in):
        # Chosen: what a sieve holds back is wood.
        books.additions[goes_on_in[overs.batch_id]].append(
            Addition(overs.counts_at, (browns_part(SHAVINGS.code, overs.millilitres),))
        )
    books.harvests = _harvests(list(rows(Harvest, batch__in=keys)), list(rows(HarvestPart, batch__in=keys)))
    return books


def _family(building: Building, keys: list[int]) -> dict[int, int]:
    """Each lot that went into one of `keys`, however indirectly, and that one."""
    into = dict(Batch.objects.within(building).filter(merged_into__isnull=False).values_list("pk", "merged_into"))
    found = {key: key for key in keys}
    for part in into:
        whole = part
        while whole in into:
            whole = into[whole]
        if whole in found:
            found[part] = whole
    return found


def _lot(
    building: Building, batch: Batch, books: _Books, places: dict[int, Place], makes: dict[int, tuple[Made, ...]],
    learnt: list[tuple[dt.datetime, Hindcast]], air: tuple[AirReading, ...], offset: dt.timedelta, end: dt.datetime,
) -> Lot:  # fmt: skip
    site, changes, moves = batch.drum.site, books.changes[batch.pk], books.movements[batch.pk]
    stage = Stage(changes[-1].to_stage) if changes else Stage(batch.stage)
    closings = [change.counts_at for change in changes if change.from_stage == Stage.FILLING]
    closed_at = None if stage is Stage.FILLING else (closings[-1] if closings else batch.closed_at)
    since = {change.to_stage: change.counts_from or change.counts_at for change in changes}
    readies = [change.counts_at for change in changes if change.to_stage == Stage.READY]
    moved = [(m.counts_at, places[m.to_place_id]) for m in moves if m.to_place_id is not None]
    readings = books.readings[batch.pk]
    of_kind = {kind: [row for row in readings if row.kind == kind] for kind in Reading.Kind.values}
    levels = of_kind[Reading.Kind.LEVEL_PERCENT]
    past_curing = stage in (Stage.CURING, Stage.READY, Stage.HARVESTED)

    def was_turned(reading: Reading) -> bool:
        return reading.visit.turned_in(place_at(batch, moves, reading.counts_at))

    history = History(
        opened_at=batch.opened_at,
        stays=stays_of(((batch.opened_at, batch.started_in), *moved), makes, end, indoors=site.air == Site.Air.INDOORS),
        climate=climate(site, air),
        closed_at=closed_at if closed_at is None else max(closed_at, batch.opened_at),
        curing_at=since.get(Stage.CURING) if past_curing else None,
        additions=tuple(sorted(books.additions[batch.pk], key=lambda one: (one.at, repr(one)))),
        turns=tuple(
            at
            for at, hatch in books.turns[batch.drum_id]
            for then in [place_at(batch, moves, at)]
            if batch.opened_at <= at and hatch in (None, then) and places[then].drum_id is not None
        ),
        # In percent of the place where it stood when that was read, as the model counts them.
        levels=tuple(LevelReading(r.counts_at, r.value, was_turned(r)) for r in levels),
        temperatures=tuple(
            TemperatureReading(r.counts_at, degrees(r.value), None, was_turned(r))
            for r in of_kind[Reading.Kind.DRUM_TENTHS_C]
        ),
        squeezes=tuple(SqueezeReading(r.counts_at, SQUEEZES[r.value]) for r in of_kind[Reading.Kind.SQUEEZE]),
        smells=tuple(SmellReading(r.counts_at, bool(r.value)) for r in of_kind[Reading.Kind.SMELL_BAD]),
        tests=tuple(as_test(result) for result in books.results[batch.pk]),
        harvests=(books.harvests[batch.pk],) if batch.pk in books.harvests else (),
        site=shrink([one for ended, one in learnt if ended < batch.opened_at]),
        offset=offset,
    )
    return Lot(
        batch=batch,
        history=history,
        stage=stage,
        place=moved[-1][1] if moved else batch.started_in,
        level_days=len({building.local(row.counts_at).date() for row in levels}),
        closed_on=None if closed_at is None else building.local(closed_at).date(),
        ready_on=building.local(readies[-1]).date() if readies and stage in (Stage.READY, Stage.HARVESTED) else None,
    )


def climate(site: Site, air: tuple[AirReading, ...] = ()) -> Climate:
    """The air of a site by month, and what was read beside its drums."""
    by_month = tuple(float(degrees_c) for degrees_c in climate_of(site)[0])
    return Climate(by_month, by_month[0], air)  # a room has the same each month


def _air(books: _Books) -> tuple[AirReading, ...]:
    """The air read at each visit, once: it belongs to the yard and not to a lot."""
    found = {
        row.visit_id: AirReading(row.counts_at, row.value / 10)
        for rows in books.readings.values()
        for row in rows
        if row.kind == Reading.Kind.AIR_TENTHS_C and abs(row.value) <= 600
    }
    return tuple(sorted(found.values(), key=lambda one: (one.at, one.air_c)))


def _brought(row: Contribution) -> Addition:
    parts = [scraps_part(row.scraps_g, row.scraps_ml), browns_part(row.browns_kind, row.browns_ml)]
    return Addition(row.counts_at, tuple(part for part in parts if part.wet_kg > 0))


def _amended(row: Amendment) -> Addition:
    if row.material == Amendment.Material.WATER:
        return Addition(row.counts_at, water_kg=row.millilitres / 1000)
    return Addition(row.counts_at, (browns_part(row.material, row.millilitres),))


def _harvests(wholes: Iterable[Harvest], parts: Iterable[HarvestPart]) -> dict[int, HarvestReading]:
    """What came out of each lot that was taken out: its compost, parts too, and the bits in the sieve."""
    at = {row.batch_id: row.counts_at for row in wholes}
    ml: defaultdict[int, int] = defaultdict(int)
    measured: list[Harvest | HarvestPart] = [*wholes, *parts]
    for row in measured:
        ml[row.batch_id] += row.millilitres + row.overs_ml
    return {key: HarvestReading(at[key], ml[key] / 1000) for key in at if ml[key] > 0}
