"""How many households and pails one occurrence of a slot has room for, so that the drum stays well.

The room of a drum is what its open chamber and its free ones still take up to the close mark. It has to last until
a further chamber is free, so it is spread over the occurrences until then. At no one time does more go in than a
fifth of a chamber: cold wet scraps in one heap smother what is at work below.

    chamber 500 L, mark 75 %, level 35 %, other one free in 26 days, two occurrences a week, pail 8 L + 2 L browns
    left: 40 % of 500 L = 200 L settled = 400 L as brought = 40 pails; 8 occurrences until then: 5 pails each
    a fifth of the chamber: 100 L = 10 pails; so 5 pails, one for each of 5 households; 60 minutes have time for 12
"""

from dataclasses import dataclass
from datetime import datetime

from bins.process.capacity import Load
from bins.process.clash import days_until_free
from bins.process.filling import latest_level
from bins.process.site import SiteSettings
from bins.process.snapshot import DrumSnapshot, DrumState, PlaceKind

LEAST_DAYS = 7  # chosen: the level is read anew within a week
MOST_DAYS = 28  # chosen: as far ahead as anybody books
AT_ONCE_PERCENT = 20  # chosen: a fifth of the chamber at one time
MINUTES_EACH = 5  # chosen: open, tip, add browns, close, write it down
QUARTERS = 4  # one full pail a household


@dataclass(frozen=True, slots=True)
class Room:
    """What one occurrence has room for: households, and quarter pails of them all. ValueError below 0."""

    households: int
    quarter_pails: int

    def __post_init__(self) -> None:
        if self.households < 0 or self.quarter_pails < 0:
            raise ValueError("room is nothing or more")


NO_ROOM = Room(0, 0)


def days_to_last(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> int:
    """Days that the drum's room has to last: until a chamber is free that isn't now, 7 to 28."""
    waits = [
        wait
        for place in drum.places
        if place.kind is PlaceKind.CHAMBER
        and not drum.is_free(place)
        and (drum.filling is None or drum.filling.place_uid != place.uid)
        and (wait := days_until_free(drum, place.uid, settings, now)) is not None
    ]
    return max(LEAST_DAYS, min(min(waits, default=MOST_DAYS), MOST_DAYS))


def takes_scraps(drum: DrumSnapshot) -> bool:
    """Whether the drum has an open hatch that is not shut."""
    shut = {place.uid for place in drum.places if place.quarantined}
    return drum.state is DrumState.IN_SERVICE and drum.filling is not None and drum.filling.place_uid not in shut


def pails_left(
    drum: DrumSnapshot, settings: SiteSettings, *, pail_ml: int, browns_ml: int, brought_ml: int, now: datetime
) -> int:
    """Full pails, each with its browns, that the drum takes up to the close mark, rounded down.

    brought_ml: scraps and browns since the level was read last. In winter nothing is taken to sink.
    ValueError unless a pail is at least 1 ml and the others are 0 or more.
    """
    if pail_ml < 1 or browns_ml < 0 or brought_ml < 0:
        raise ValueError("a pail has at least 1 ml; browns and what was brought are none or more")
    batch = drum.filling
    if batch is None or not takes_scraps(drum):
        return 0
    mark = settings.close_mark_percent
    level = latest_level(batch, now)
    settled_ml = batch.place_litres * 10 * max(0, mark - (level.percent if level else 0))
    settled_ml += sum(p.litres * 10 * mark for p in drum.places if p.kind is PlaceKind.CHAMBER and drum.is_free(p))
    as_brought_ml = settled_ml if settings.winter else settled_ml / Load().settled
    return max(0, int(as_brought_ml - brought_ml)) // (pail_ml + browns_ml)


def room_of(drum: DrumSnapshot, *, pails: int, occurrences: int, pail_ml: int, browns_ml: int, minutes: int) -> Room:
    """The room of one occurrence, `pails` spread over `occurrences` (1 or more) that it has to last for."""
    if drum.filling is None or not takes_scraps(drum):
        return NO_ROOM
    at_once = drum.filling.place_litres * 10 * AT_ONCE_PERCENT // (pail_ml + browns_ml)
    # Rounded up while there is any: a drum of which little is left takes one at a time, not none for weeks.
    each = min(-(-pails // max(occurrences, 1)), max(at_once, 1), pails)
    return Room(min(each, max(minutes // MINUTES_EACH, 1)), each * QUARTERS)
