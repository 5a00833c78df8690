"""Days on which something could be brought: a hatch was open at noon, and there were browns.

Read from the books as they stand: when lots opened and closed, hatches were shut and opened again, drums taken out of
service, and when somebody said that the browns were out.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from bins.models import Batch, Drum, DrumChange, Place, PlaceChange
from households.models import Audit, Building, Site

from .brought import STANDS
from .calendar import Period

NOON = dt.time(12, 0)  # chosen: one look a day, when people are about
OUT, BACK = "browns-out", "browns-back"


@dataclass(frozen=True)
class OpenDays:
    """Of `days` that are over: on how many a hatch was open, and on how many there were browns too."""

    days: int
    open: int
    with_browns: int


Turns = dict[int, list[tuple[dt.datetime, bool]]]  # key -> when something became so, in order


def open_days(building: Building, period: Period, today: dt.date) -> OpenDays | None:
    """Days of the period before `today`, from the day of the first lot on; None where there is none.

    Six queries whatever the period. With several drums or sites one open hatch is enough: people are sent there.
    """
    lots = list(Batch.objects.within(building).values_list("drum", "started_in", "opened_at", "closed_at"))
    first = min((building.local(opened).date() for _, _, opened, _ in lots), default=None)
    days = [] if first is None else list(_days(max(first, period.first_day), min(today, period.after)))
    if not days:
        return None
    changed = PlaceChange.objects.within(building).filter(STANDS).order_by("counts_at", "ledger_number")
    shut = _turns(changed.values_list("place", "counts_at", "is_shut"))
    changed = DrumChange.objects.within(building).filter(STANDS).order_by("counts_at", "ledger_number")
    away = _turns(
        (drum, at, state != Drum.State.IN_SERVICE)
        for drum, at, state in changed.values_list("drum", "counts_at", "to_state")
    )
    sites = dict(Drum.objects.within(building).values_list("pk", "site"))
    out = _browns_out(building)
    chambers = set(Place.objects.within(building).filter(kind=Place.Kind.CHAMBER).values_list("pk", flat=True))
    opened = with_browns = 0
    for day in days:
        at = building.instant(day, NOON)
        there = {
            sites[drum]
            for drum, place, began, ended in lots
            if place in chambers
            and began <= at
            and (ended is None or ended > at)
            and not _is_so(shut.get(place, []), at)
            and not _is_so(away.get(drum, []), at)
        }
        opened += bool(there)
        with_browns += any(not _is_so(out.get(site, []), at) for site in there)
    return OpenDays(len(days), opened, with_browns)


def _days(first: dt.date, until: dt.date) -> Iterable[dt.date]:
    while first < until:
        yield first
        first += dt.timedelta(days=1)


def _turns(told: Iterable[tuple[int, dt.datetime, bool]]) -> Turns:
    found: defaultdict[int, list[tuple[dt.datetime, bool]]] = defaultdict(list)
    for key, at, is_so in told:
        found[key].append((at, is_so))
    return found


def _browns_out(building: Building) -> Turns:
    """When somebody said at a site that the browns were out, and that there were some again."""
    by_uid = {str(uid): key for key, uid in Site.objects.within(building).values_list("pk", "uid")}
    told = Audit.objects.within(building).filter(act__in=[OUT, BACK]).order_by("at", "pk")
    return _turns(
        (by_uid[detail["site"]], at, act == OUT) for act, at, detail in told.values_list("act", "at", "detail")
    )


def _is_so(turns: list[tuple[dt.datetime, bool]], at: dt.datetime) -> bool:
    """What was said last by then; False where nothing was."""
    return next((is_so for since, is_so in reversed(turns) if since <= at), False)
