"""What each drum needs of a person now: turning, readings that a decision waits for, tests to read, a tag to hang."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Max

from bins.care.maturity_tests import readable_from
from bins.care.winter_room import WinterRoom, pail_of_site, room_of
from bins.decisions.gather import gather_drums, rules_of, settings_of
from bins.models import Batch, MaturityTest, Place, Visit
from bins.process.asking import Wanted, readings_wanted
from bins.process.most_telling import Telling, most_telling, the_one
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
class Turn:
    """A turn, of one hatch where they turn apart, else of the drum. `days_ago`: since the last, if any."""

    place: Place | None
    days_ago: int | None
    in_days: int  # until it is due; 0 or less: it is due


@dataclass(frozen=True)
class DrumWork:
    """One drum's needs. `turned_days_ago`, of any of its hatches, is None where no turn is in the books."""

    drum_uid: UUID
    turning: tuple[Turn, ...]  # what is due
    next_on: dt.date | None  # when a turn or a test that isn't due yet will be
    turned_days_ago: int | None
    asked: tuple[tuple[Batch, Wanted], ...]
    running: tuple[Running, ...]
    to_open: tuple[Place, ...]  # free hatches, where nothing is open
    room: WinterRoom | None
    telling: Telling | None  # its one reading that would decide most, and
    telling_of: Batch | None  # of which lot

    @property
    def turning_due(self) -> bool:
        return bool(self.turning)


def work_due(building: Building, now: dt.datetime) -> dict[UUID, DrumWork]:
    """By drum; nineteen queries however many drums there are, and in winter one more a site."""
    today = building.local(now).date()
    turned: defaultdict[UUID, dict[UUID | None, dt.datetime]] = defaultdict(dict)  # None: the whole drum
    visits = Visit.objects.within(building).filter(
        turned=True, counts_at__lte=now, reverses__isnull=True, reversed_by__isnull=True
    )
    turns = visits.order_by().values_list("drum__uid", "turned_place__uid").annotate(last=Max("counts_at"))
    for drum_uid, hatch, last in turns:
        turned[drum_uid][hatch] = last
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
            turns_here = _turning(building, site, drum, settings, turned[drum.uid], places, now)
            read_from = [(test, readable_from(test)) for test in running[drum.uid]]
            tests_here = tuple(Running(test, at, at <= now) for test, at in read_from)
            running_here = frozenset(test.batch.uid for test in running[drum.uid])
            telling = most_telling(drum, settings, now, running_here)
            found[drum.uid] = DrumWork(
                drum_uid=drum.uid,
                turning=tuple(turn for turn in turns_here if turn.in_days <= 0),
                next_on=min(
                    [
                        *(today + dt.timedelta(days=turn.in_days) for turn in turns_here if turn.in_days > 0),
                        *(building.local(one.from_at).date() for one in tests_here if not one.is_due),
                    ],
                    default=None,
                ),
                turned_days_ago=_days_ago(building, max(turned[drum.uid].values(), default=None), now),
                asked=tuple(
                    (batches[uid], wanted)
                    for uid, wanted in readings_wanted(drum, settings, now)
                    if uid in batches and not (wanted is Wanted.MATURITY_TEST and _is_tested(running[drum.uid], uid))
                ),
                running=tests_here,
                to_open=_to_open(drum, places),
                room=room_of(drum, site, settings, pail_ml, today, now),
                telling=telling,
                telling_of=batches.get(telling.batch_uid) if telling else None,
            )
    return found


def most_telling_of(work: Iterable[DrumWork]) -> tuple[Batch, Telling] | None:
    """Of all drums the one reading that would decide most this week, and of which lot."""
    found = {one.telling: one.telling_of for one in work if one.telling is not None and one.telling_of is not None}
    best = the_one(found)
    batch = found.get(best) if best is not None else None
    return (batch, best) if batch is not None and best is not None else None


def _turning(
    building: Building, site: Site, drum: DrumSnapshot, settings: SiteSettings,
    turned: Mapping[UUID | None, dt.datetime], places: Mapping[UUID, Place], now: dt.datetime,
) -> tuple[Turn, ...]:  # fmt: skip
    """The next turns, and those that are due. `turned`: the last one by hatch, and of the whole drum."""
    rules = rules_of(site)
    chambers = [place.uid for place in drum.places if place.kind is PlaceKind.CHAMBER]
    found = []
    for hatch in chambers if drum.turns_apart else [None]:
        every = days_between_turns(drum, settings, now, rules.turn_open_days, rules.turn_resting_days, hatch)
        began = min((one.opened_at for one in drum.batches if hatch in (None, one.place_uid)), default=None)
        if every is None or began is None:
            continue
        last = max((at for one, at in turned.items() if hatch is None or one in (None, hatch)), default=None)
        # Never turned since it began: from that day.
        since = _days_ago(building, max(filter(None, (last, began))), now) or 0
        found.append(Turn(places[hatch] if hatch else None, _days_ago(building, last, now), every - since))
    return tuple(found)


def _days_ago(building: Building, at: dt.datetime | None, now: dt.datetime) -> int | None:
    return None if at is None else (building.local(now).date() - building.local(at).date()).days


def _is_tested(running: list[MaturityTest], batch_uid: UUID) -> bool:
    """A test is on its way: another isn't asked for."""
    return any(test.batch.uid == batch_uid for test in running)


def _to_open(drum: DrumSnapshot, places: dict[UUID, Place]) -> tuple[Place, ...]:
    if drum.filling is not None or drum.state is not DrumState.IN_SERVICE:
        return ()
    return tuple(places[place.uid] for place in drum.places if place.kind is PlaceKind.CHAMBER and drum.is_free(place))
