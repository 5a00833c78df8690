"""What the chamber rules look at, read from the books as of an instant in a fixed number of queries."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Max, Q

from bins.mixing.batch_mix import BatchMix, mixes
from bins.models import (
    Batch,
    Contribution,
    Decision,
    Drum,
    DrumChange,
    MaturityResult,
    Movement,
    Place,
    PlaceChange,
    Reading,
    SiteRules,
    StageChange,
    ToldSymptom,
    Visit,
)
from bins.process.maturity import BagTest, FlaskTest, MaturityTest, PlainSoil, SeedTest
from bins.process.proposal import Rule
from bins.process.reading import (
    FreshScraps,
    LevelReading,
    SmellReading,
    Squeeze,
    SqueezeReading,
    SymptomsTold,
    TemperatureReading,
)
from bins.process.site import INDOOR_AIR_C, TEMPERATE_AIR_C, SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot, DrumState, PlaceKind, PlaceSnapshot
from bins.process.stage import Stage
from bins.process.symptom import Symptom
from bins.process.winter import DayOfYear, WinterRule, days_until_winter, is_winter
from households.models import Building, Site

SQUEEZES = (Squeeze.DRY, Squeeze.RIGHT, Squeeze.WET)  # a stored squeeze is the index here

Value = TypeVar("Value")


@dataclass
class _Books:
    """The rows of all live batches, by the key of the batch."""

    readings: defaultdict[int, list[Reading]] = field(default_factory=lambda: defaultdict(list))
    changes: defaultdict[int, list[StageChange]] = field(default_factory=lambda: defaultdict(list))
    movements: defaultdict[int, list[Movement]] = field(default_factory=lambda: defaultdict(list))
    results: defaultdict[int, list[MaturityResult]] = field(default_factory=lambda: defaultdict(list))
    fresh: defaultdict[int, list[Contribution]] = field(default_factory=lambda: defaultdict(list))
    symptoms: defaultdict[int, list[ToldSymptom]] = field(default_factory=lambda: defaultdict(list))
    remedied: dict[int, dt.datetime] = field(default_factory=dict)
    # By the key of the drum, and of the hatch where only that one was turned.
    turned: dict[tuple[int, int | None], dt.datetime] = field(default_factory=dict)
    mixes: dict[int, BatchMix] = field(default_factory=dict)


def gather_drums(
    building: Building, as_of: dt.datetime, only: Drum | None = None
) -> tuple[tuple[Site, tuple[DrumSnapshot, ...]], ...]:
    """Each site with its drums' snapshots, by uid; fifteen queries however many drums there are.

    Rows that count later than `as_of` are left out, and stage, place and shutting are those of that instant, so
    that a night that was missed decides as it would have.
    """
    drums = Drum.objects.within(building).select_related("site__rules").order_by("uid")
    if only is not None:
        drums = drums.filter(pk=only.pk)
    places = {place.pk: place for place in Place.objects.within(building).order_by("letter", "uid")}
    batches = list(Batch.objects.within(building).living_at(as_of).order_by("uid"))
    books = _open_books(building, as_of)
    books.mixes = mixes(building, batches, as_of)
    shut = _as_it_was(
        (change.place_id, not change.is_shut) for change in _later(PlaceChange.objects.within(building), as_of)
    )
    states = _as_it_was(
        (change.drum_id, change.from_state) for change in _later(DrumChange.objects.within(building), as_of)
    )
    standing = {batch.pk: place_at(batch, books.movements[batch.pk], as_of) for batch in batches}
    taken = set(standing.values())

    found: defaultdict[UUID, list[DrumSnapshot]] = defaultdict(list)
    sites: dict[UUID, Site] = {}
    for drum in drums:
        site = sites.setdefault(drum.site.uid, drum.site)
        found[site.uid].append(
            DrumSnapshot(
                uid=drum.uid,
                state=DrumState(states.get(drum.pk, drum.state)),
                turns_apart=drum.turns == Drum.Turns.APART,
                places=tuple(
                    PlaceSnapshot(
                        uid=place.uid,
                        mark=place.letter,
                        # A batch leaves its place when a person says so: one without a batch is empty by their word.
                        empty=place.pk not in taken,
                        quarantined=shut.get(place.pk, place.is_quarantined),
                        kind=PlaceKind(place.kind),
                        litres=place.litres,
                    )
                    for place in places.values()
                    if place.drum_id == drum.pk or (place.drum_id is None and place.site_id == site.pk)
                ),
                batches=tuple(
                    _batch(batch, drum, books, places, standing[batch.pk])
                    for batch in batches
                    if batch.drum_id == drum.pk
                ),
            )
        )
    return tuple((sites[uid], tuple(found[uid])) for uid in sorted(found))


def settings_of(site: Site, on: dt.date) -> SiteSettings:
    """The site's numbers on a local date; a site that has set none goes by the defaults."""
    rules = rules_of(site)
    air, winter = climate_of(site)
    return SiteSettings(
        close_mark_percent=rules.close_mark_percent,
        longest_fill_days=rules.longest_fill_days,
        composting_days=rules.composting_days,
        curing_days=rules.curing_days,
        winter=is_winter(winter, air, on),
        winter_in_days=days_until_winter(winter, air, on),
        air_c_by_month=air,
        browns=site.browns,
    )


def rules_of(site: Site) -> SiteRules:
    """The site's own row, or an unsaved one with the defaults."""
    try:
        return site.rules
    except SiteRules.DoesNotExist:
        return SiteRules(building_id=site.building_id, site=site)


def climate_of(site: Site) -> tuple[tuple[Decimal, ...], WinterRule]:
    """Mean air by month, January first, in °C, and when its winter is."""
    rules = rules_of(site)
    own = None if rules.air_tenths_c is None else tuple(Decimal(tenths) / 10 for tenths in rules.air_tenths_c)
    if site.air == Site.Air.INDOORS:
        return own or INDOOR_AIR_C, WinterRule(indoor=True)
    return own or TEMPERATE_AIR_C, WinterRule(
        first=day_of_year(rules.winter_first), spring=day_of_year(rules.spring_first)
    )


def day_of_year(text: str) -> DayOfYear | None:
    """ "11-15" -> the 15th of November; None for nothing. ValueError for a day that doesn't return each year."""
    return DayOfYear(int(text[:2]), int(text[3:])) if text else None


def _open_books(building: Building, as_of: dt.datetime) -> _Books:
    lives = Q(batch__opened_at__lte=as_of) & (Q(batch__ended_at__isnull=True) | Q(batch__ended_at__gt=as_of))
    stands = Q(counts_at__lte=as_of, reverses__isnull=True, reversed_by__isnull=True)
    in_order = ("counts_at", "ledger_number")
    books = _Books()
    for reading in Reading.objects.within(building).filter(lives, stands).select_related("visit").order_by(*in_order):
        books.readings[reading.batch_id].append(reading)
    for change in StageChange.objects.within(building).filter(lives, stands).order_by(*in_order):
        books.changes[change.batch_id].append(change)
    for movement in Movement.objects.within(building).filter(lives, stands).order_by(*in_order):
        books.movements[movement.batch_id].append(movement)
    tested = Q(test__batch__opened_at__lte=as_of) & (
        Q(test__batch__ended_at__isnull=True) | Q(test__batch__ended_at__gt=as_of)
    )
    for result in MaturityResult.objects.within(building).filter(tested, stands).select_related("test"):
        books.results[result.test.batch_id].append(result)
    for row in Contribution.objects.within(building).filter(lives, stands, place__isnull=False):
        books.fresh[row.batch_id].append(row)
    for told in ToldSymptom.objects.within(building).filter(lives, stands).order_by(*in_order):
        books.symptoms[told.batch_id].append(told)
    turned = Visit.objects.within(building).filter(stands, turned=True)
    books.turned = {
        (drum, hatch): last
        for drum, hatch, last in turned.order_by().values_list("drum", "turned_place").annotate(Max("counts_at"))
    }
    remedied = Decision.objects.within(building).filter(
        lives, rule=str(Rule.TROUBLE), state=Decision.State.APPLIED, settled_at__lte=as_of
    )
    books.remedied = dict(remedied.order_by().values_list("batch").annotate(Max("settled_at")))
    return books


def _later(rows: Any, as_of: dt.datetime) -> Any:
    return rows.filter(counts_at__gt=as_of).order_by("-counts_at", "-ledger_number")


def _as_it_was(undone: Iterable[tuple[int, Value]]) -> dict[int, Value]:
    """Latest first, so that the earliest later change has the last word on how it was before."""
    return dict(undone)


def place_at(batch: Batch, movements: list[Movement], instant: dt.datetime) -> int:
    """The key of the place where a batch stood; movements in order of time."""
    moves = [m.to_place_id for m in movements if m.counts_at <= instant and m.to_place_id is not None]
    place: int = moves[-1] if moves else batch.started_in_id
    return place


def _batch(batch: Batch, drum: Drum, books: _Books, places: dict[int, Place], place_key: int) -> BatchSnapshot:
    place = places[place_key]
    changes, movements = books.changes[batch.pk], books.movements[batch.pk]
    stage = Stage(changes[-1].to_stage) if changes else Stage(batch.stage)
    since = {change.to_stage: change.counts_from or change.counts_at for change in changes}
    closings = [change.counts_at for change in changes if change.from_stage == Stage.FILLING]
    closed_at = None if stage is Stage.FILLING else (closings[-1] if closings else batch.closed_at)
    taken_out = max((m.counts_at for m in movements if m.kind == Movement.Kind.TAKEN_OUT), default=None)
    readings = books.readings[batch.pk]
    of_kind = {kind: [r for r in readings if r.kind == kind] for kind in Reading.Kind.values}
    air = {reading.visit_id: reading.value for reading in of_kind[Reading.Kind.AIR_TENTHS_C]}
    turns = [books.turned[key] for key in ((drum.pk, None), (drum.pk, place_key)) if key in books.turned]
    return BatchSnapshot(
        uid=batch.uid,
        drum_uid=drum.uid,
        place_uid=place.uid,
        stage=stage,
        opened_at=batch.opened_at,
        place_litres=place.litres,
        closed_at=closed_at,
        composting_since=since.get(Stage.COMPOSTING, closed_at),
        curing_since=since.get(Stage.CURING, closed_at),
        ready_since=since.get(Stage.READY, closed_at),
        levels=tuple(
            LevelReading(r.counts_at, level_in_place(place, r, places[then]), r.visit.turned_in(then))
            for r in of_kind[Reading.Kind.LEVEL_PERCENT]
            for then in [place_at(batch, movements, r.counts_at)]
        ),
        temperatures=tuple(
            TemperatureReading(
                r.counts_at,
                degrees(r.value),
                degrees(air[r.visit_id]) if r.visit_id in air else None,
                r.visit.turned_in(place_at(batch, movements, r.counts_at)),
            )
            for r in of_kind[Reading.Kind.DRUM_TENTHS_C]
        ),
        squeezes=tuple(SqueezeReading(r.counts_at, SQUEEZES[r.value]) for r in of_kind[Reading.Kind.SQUEEZE]),
        smells=tuple(SmellReading(r.counts_at, bool(r.value)) for r in of_kind[Reading.Kind.SMELL_BAD]),
        fresh_scraps=tuple(
            FreshScraps(
                row.counts_at,
                max(row.scraps_ml, 1),
                removed=taken_out is not None and row.counts_at <= taken_out,
            )
            for row in books.fresh[batch.pk]
        ),
        tests=tuple(as_test(result) for result in books.results[batch.pk]),
        symptoms=_symptoms(books.symptoms[batch.pk]),
        turned_at=max(turns, default=None),
        remedied_at=books.remedied.get(batch.pk),
        went_in=books.mixes[batch.pk].portions(),
    )


def _symptoms(rows: list[ToldSymptom]) -> tuple[SymptomsTold, ...]:
    """What each visit told, in order of time."""
    told: dict[tuple[dt.datetime, int], frozenset[Symptom]] = {}
    for row in rows:
        key = (row.counts_at, row.visit_id)
        mine = frozenset() if row.kind == ToldSymptom.WELL else frozenset({Symptom(row.kind)})
        told[key] = told.get(key, frozenset()) | mine
    return tuple(SymptomsTold(at, found) for (at, _visit), found in told.items())


def level_in_place(place: Place, reading: Reading, then: Place) -> int:
    """A level read in another place, as it would stand in this one: the litres stay the same."""
    return min(100, round(reading.value * then.litres / place.litres))


def as_test(result: MaturityResult) -> MaturityTest:
    """A result as the rules judge it. Needs `test`."""
    if result.bad_smell is not None:
        return BagTest(min(result.test.counts_at, result.counts_at), result.counts_at, result.bad_smell)
    if result.sown is not None and result.sprouted is not None:
        return SeedTest(result.counts_at, result.sown, result.sprouted, _soil_of(result))
    assert result.highest_tenths_c is not None  # one kind or another: a check in the database
    assert result.room_tenths_c is not None
    return FlaskTest(result.counts_at, degrees(result.highest_tenths_c), degrees(result.room_tenths_c))


def _soil_of(result: MaturityResult) -> PlainSoil | None:
    if result.soil_sown is None or result.soil_sprouted is None:
        return None
    return PlainSoil(result.soil_sown, result.soil_sprouted, result.root_mm, result.soil_root_mm)


def degrees(tenths: int) -> Decimal:
    return Decimal(tenths) / 10
