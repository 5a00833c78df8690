"""What is ahead at the sites with set times: each occurrence, whether it takes place, and how much room is free."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import F, Q

from bins.decisions.gather import climate_of, gather_drums, settings_of
from bins.models import Contribution, Drum, Pail
from bins.process.filling import latest_level
from bins.process.slot_room import MOST_DAYS, NO_ROOM, QUARTERS, Room, days_to_last, pails_left, room_of, takes_scraps
from bins.process.snapshot import DrumSnapshot
from bins.process.winter import is_winter
from households.models import Booking, Building, Closure, IntakePause, Site, Slot
from households.models.booking import STANDS
from households.recurrence import days

BOOK_AHEAD_DAYS = 28  # chosen: four weeks; who plans further ahead forgets


@dataclass(frozen=True)
class Lane:
    """One drum at one occurrence. `free` households may still book, a full pail each."""

    number: int
    takes: bool
    room: Room
    booked: int
    booked_quarters: int
    left_quarters: int  # of the drum's own room, after all who are booked ahead

    @property
    def free(self) -> int:
        if not self.takes:
            return 0
        return max(0, min(self.room.households - self.booked, self.free_quarters // QUARTERS))

    @property
    def free_quarters(self) -> int:
        return max(0, min(self.room.quarter_pails - self.booked_quarters, self.left_quarters))


@dataclass(frozen=True)
class Occurrence:
    """One slot on one local day. `out` says why it does not take place: "closure", "winter" or nothing."""

    slot: Slot
    day: dt.date
    begins_at: dt.datetime
    ends_at: dt.datetime
    out: str
    words: str  # of the closure
    lanes: tuple[Lane, ...]

    @property
    def is_off(self) -> bool:
        """Nothing is open."""
        return not any(lane.takes for lane in self.lanes)

    @property
    def free(self) -> int:
        return 0 if self.out else sum(lane.free for lane in self.lanes)

    def lane(self, number: int) -> Lane | None:
        return next((lane for lane in self.lanes if lane.number == number), None)


def occurrences(
    building: Building, first: dt.date, last: dt.date, now: dt.datetime, site: Site | None = None
) -> tuple[Occurrence, ...]:
    """Every occurrence that begins after `now` on the local days from `first` to `last`, by time.

    Those that are taken out are there as well, and say why. The number of queries is the same for any number of
    slots, days and bookings.
    """
    slots = list(open_slots(building, first, site))
    if not slots:
        return ()
    out = WhatIsOut.gather(building)
    rooms = _Rooms(building, slots, out, now)
    found = [
        Occurrence(slot, day, begins_at, begins_at + dt.timedelta(minutes=slot.minutes), *out.why(slot, day), lanes)
        for slot in slots
        for day in days_of(slot, first, last, building)
        if (begins_at := building.instant(day, slot.begins_at)) > now
        for lanes in [rooms.lanes(slot, day)]
    ]
    return tuple(sorted(found, key=lambda one: (one.begins_at, one.slot.site.name, one.slot.pk)))


def open_slots(building: Building, on: dt.date, site: Site | None = None) -> Iterable[Slot]:
    """The slots of sites with set times that have not ended before a day."""
    slots = (
        Slot.objects.within(building)
        .filter(Q(last_day__isnull=True) | Q(last_day__gte=on), site__opening=Site.Opening.SLOTS)
        .select_related("site__rules")
        .order_by("begins_at", "pk")
    )
    return slots.filter(site=site) if site is not None else slots


def days_of(slot: Slot, first: dt.date, last: dt.date, building: Building) -> list[dt.date]:
    """The local days of a slot in a span, before anything is taken out."""
    if slot.last_day is not None:
        last = min(last, slot.last_day)
    return days(slot.rule, starts_on=slot.starts_on, first=first, last=last, zone=building.zone, wall=slot.begins_at)


@dataclass(frozen=True)
class WhatIsOut:
    """Closed days by site, and sites that nobody looks after from a day on."""

    closures: dict[int, list[Closure]]
    paused_from: dict[int, dt.date]

    @classmethod
    def gather(cls, building: Building) -> "WhatIsOut":
        closures: defaultdict[int, list[Closure]] = defaultdict(list)
        for closure in Closure.objects.within(building).order_by("first_day", "pk"):
            closures[closure.site_id].append(closure)
        pauses = IntakePause.objects.within(building).filter(ended_on__isnull=True)
        return cls(closures, {pause.site_id: pause.first_on for pause in pauses})

    def why(self, slot: Slot, day: dt.date) -> tuple[str, str]:
        """Why an occurrence is taken out, and the words of its closure; two empty texts where it takes place."""
        for closure in self.closures.get(slot.site_id, ()):
            if closure.covers(day):
                return "closure", closure.words
        if slot.rests_in_winter:
            air, winter = climate_of(slot.site)
            if is_winter(winter, air, day):
                return "winter", ""
        return "", ""

    def is_paused(self, slot: Slot, day: dt.date) -> bool:
        first = self.paused_from.get(slot.site_id)
        return first is not None and first <= day


class _Rooms:
    """The room of every drum at every occurrence, from one look at the books."""

    def __init__(self, building: Building, slots: Sequence[Slot], out: WhatIsOut, now: dt.datetime) -> None:
        self.out = out
        today = building.local(now).date()
        self.numbers = dict(Drum.objects.within(building).values_list("uid", "number"))
        self.drums: dict[int, tuple[DrumSnapshot, ...]] = {
            site.pk: drums for site, drums in gather_drums(building, now)
        }
        pail_ml: dict[int, int] = {}
        for site_pk, millilitres in Pail.objects.within(building).order_by("number").values_list("site", "millilitres"):
            pail_ml.setdefault(site_pk, millilitres)
        brought = _brought_since(building, self.drums, now)
        self.households: Counter[tuple[int, dt.date, int]] = Counter()
        self.quarters: Counter[tuple[int, dt.date, int]] = Counter()
        ahead: Counter[tuple[int, int]] = Counter()
        standing = Booking.objects.within(building).filter(STANDS, begins_at__gt=now)
        for slot_pk, day, lane, quarters, site_pk in standing.values_list(
            "slot", "occurs_on", "lane", "quarter_pails", "slot__site"
        ):
            self.households[slot_pk, day, lane] += 1
            self.quarters[slot_pk, day, lane] += quarters
            ahead[site_pk, lane] += quarters

        self.rooms: dict[tuple[int, int], Room] = {}
        self.left: dict[tuple[int, int], int] = {}
        per_site = defaultdict(list)
        for slot in slots:
            per_site[slot.site_id].append(slot)
        for site_pk, its_slots in per_site.items():
            site = its_slots[0].site
            settings = settings_of(site, today)
            ml = pail_ml.get(site_pk) or Pail().millilitres
            browns_ml = site.half_cups_per_pail * site.cup_ml // 2
            taking_place = [
                day
                for slot in its_slots
                for day in days_of(slot, today, today + dt.timedelta(days=MOST_DAYS), building)
                if not out.why(slot, day)[0] and building.instant(day, slot.begins_at) > now
            ]
            for drum in self.drums.get(site_pk, ()):
                lane = self.numbers[drum.uid]
                until = today + dt.timedelta(days=days_to_last(drum, settings, now))
                pails = pails_left(
                    drum, settings, pail_ml=ml, browns_ml=browns_ml, brought_ml=brought.get(drum.uid, 0), now=now
                )
                self.left[site_pk, lane] = pails * QUARTERS - ahead[site_pk, lane]
                for slot in its_slots:
                    self.rooms[slot.pk, lane] = room_of(
                        drum,
                        pails=pails,
                        occurrences=sum(day < until for day in taking_place),
                        pail_ml=ml,
                        browns_ml=browns_ml,
                        minutes=slot.minutes,
                    )

    def lanes(self, slot: Slot, day: dt.date) -> tuple[Lane, ...]:
        found = []
        for drum in self.drums.get(slot.site_id, ()):
            number = self.numbers[drum.uid]
            takes = takes_scraps(drum) and not self.out.is_paused(slot, day)
            room, left = self.rooms.get((slot.pk, number), NO_ROOM), self.left.get((slot.site_id, number), 0)
            if slot.households is not None or slot.quarter_pails is not None:
                room, left = _as_told(slot, room, left)
            at = (slot.pk, day, number)
            found.append(Lane(number, takes, room, self.households[at], self.quarters[at], left))
        return tuple(sorted(found, key=lambda lane: lane.number))


def _as_told(slot: Slot, room: Room, left: int) -> tuple[Room, int]:
    """The caretaker's own figures: who stands before the drum sees more than a sum does, so the drum's own room
    no longer limits them. One figure alone gives the other: a pail a household."""
    households = slot.households or -(-(slot.quarter_pails or 0) // QUARTERS)
    quarters = slot.quarter_pails or households * QUARTERS
    return Room(households, quarters), max(left, quarters)


def _brought_since(building: Building, drums: dict[int, tuple[DrumSnapshot, ...]], now: dt.datetime) -> dict[UUID, int]:
    """By drum: millilitres that its open batch took since its level was read last. One query."""
    since: dict[UUID, tuple[UUID, dt.datetime]] = {}
    for of_site in drums.values():
        for drum in of_site:
            if drum.filling is not None:
                level = latest_level(drum.filling, now)
                since[drum.filling.uid] = drum.uid, level.at if level else drum.filling.opened_at
    if not since:
        return {}
    found: Counter[UUID] = Counter()
    rows = Contribution.objects.within(building).filter(
        batch__uid__in=since, counts_at__gt=min(at for _drum, at in since.values()), counts_at__lte=now
    )
    for batch, at, millilitres in rows.values_list("batch__uid", "counts_at", F("scraps_ml") + F("browns_ml")):
        drum_uid, from_ = since[batch]
        if at > from_:
            found[drum_uid] += millilitres
    return dict(found)
