"""What each drum needs of a person now: turning, readings that a decision waits for, tests to read, a tag to hang."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Max

from bins.care.maturity_tests import readable_from
from bins.care.winter_room import WinterRoom, pail_of_site, room_of
from bins.decisions.gather import gather_drums, rules_of, settings_of
from bins.models import Batch, MaturityTest, Place, Visit
from bins.process.asking import Wanted, readings_wanted
from bins.process.site import SiteSettings
from bins.process.snapshot import DrumSnapshot, DrumState, PlaceKind
from bins.process.turning import days_between_turns
from households.models import Building, Site


@dataclass(frozen=True)
class Running:
    """A test that was begun and not read, and from when on it can be."""

    test: MaturityTest
    from_at: dt.datetime
    is_due: bool


@dataclass(frozen=True)
class DrumWork:
    """One drum's needs. `turned_days_ago` is None where no turn is in the books."""

    drum_uid: UUID
    turning_due: bool
    turned_days_ago: int | None
    asked: tuple[tuple[Batch, Wanted], ...]
    running: tuple[Running, ...]
    to_open: tuple[Place, ...]  # free hatches, where nothing is open
    room: WinterRoom | None


def work_due(building: Building, now: dt.datetime) -> dict[UUID, DrumWork]:
    """By drum; fourteen queries however many drums there are, and in winter one more a site."""
    today = building.local(now).date()
    turned = dict(
        Visit.objects.within(building)
        .filter(turned=True, counts_at__lte=now, reverses__isnull=True, reversed_by__isnull=True)
        .order_by()
        .values_list("drum__uid")
        .annotate(last=Max("counts_at"))
    )
    batches = {
        batch.uid: batch
        for batch in Batch.objects.within(building).live().select_related("place", "drum").order_by("uid")
    }
    places = {place.uid: place for place in Place.objects.within(building).select_related("drum")}
    running: defaultdict[UUID, list[MaturityTest]] = defaultdict(list)
    tests = MaturityTest.objects.within(building).filter(
        result__isnull=True, batch__ended_at__isnull=True, reverses__isnull=True, reversed_by__isnull=True
    )
    for test in tests.select_related("batch__place", "batch__drum").order_by("counts_at", "pk"):
        running[test.batch.drum.uid].append(test)
    found: dict[UUID, DrumWork] = {}
    for site, drums in gather_drums(building, now):
        settings = settings_of(site, today)
        pail_ml = pail_of_site(building, site) if settings.winter else 0
        for drum in drums:
            last = turned.get(drum.uid)
            ago = None if last is None else (today - building.local(last).date()).days
            found[drum.uid] = DrumWork(
                drum_uid=drum.uid,
                turning_due=_turning_due(building, site, drum, settings, ago, now),
                turned_days_ago=ago,
                asked=tuple(
                    (batches[uid], wanted)
                    for uid, wanted in readings_wanted(drum, settings, now)
                    if uid in batches and not (wanted is Wanted.MATURITY_TEST and _is_tested(running[drum.uid], uid))
                ),
                running=tuple(
                    Running(test, at, at <= now) for test in running[drum.uid] for at in [readable_from(test)]
                ),
                to_open=_to_open(drum, places),
                room=room_of(drum, site, settings, pail_ml, today, now),
            )
    return found


def _turning_due(
    building: Building, site: Site, drum: DrumSnapshot, settings: SiteSettings, ago: int | None, now: dt.datetime
) -> bool:
    rules = rules_of(site)
    every = days_between_turns(drum, settings, now, rules.turn_open_days, rules.turn_resting_days)
    if every is None or not drum.batches:
        return False
    if ago is None:  # never turned: from the day its first batch began
        began = min(batch.opened_at for batch in drum.batches)
        ago = (building.local(now).date() - building.local(began).date()).days
    return ago >= every


def _is_tested(running: list[MaturityTest], batch_uid: UUID) -> bool:
    """A test is on its way: another isn't asked for."""
    return any(test.batch.uid == batch_uid for test in running)


def _to_open(drum: DrumSnapshot, places: dict[UUID, Place]) -> tuple[Place, ...]:
    if drum.filling is not None or drum.state is not DrumState.IN_SERVICE:
        return ()
    return tuple(places[place.uid] for place in drum.places if place.kind is PlaceKind.CHAMBER and drum.is_free(place))
