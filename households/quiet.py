"""When people may be written to: by day, on the building's own clock."""

import datetime as dt

from .models import Building

DAY_BEGINS = dt.time(7, 0)
DAY_ENDS = dt.time(21, 0)


def due_by_day(building: Building, now: dt.datetime) -> dt.datetime:
    """`now` between 07:00 and 21:00 local time (21:00 itself is too late), else the next 07:00. UTC."""
    local = building.local(now)
    if DAY_BEGINS <= local.time() < DAY_ENDS:
        return now
    day = local.date() if local.time() < DAY_BEGINS else local.date() + dt.timedelta(days=1)
    return building.instant(day, DAY_BEGINS)
