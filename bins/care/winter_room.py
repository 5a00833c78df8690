"""How much a drum still takes until spring: in winter little shrinks, so the room is counted in pails."""

import datetime as dt
from dataclasses import dataclass

from bins.decisions.gather import climate_of, gather_drums, settings_of
from bins.models import Drum, Pail
from bins.process.site import SiteSettings
from bins.process.snapshot import DrumSnapshot, DrumState
from bins.process.winter import days_until_spring, pails_until_spring
from households.models import Building, Site


@dataclass(frozen=True)
class WinterRoom:
    """Full pails, each with its browns, that fit until the first day of spring."""

    pails: int
    until: dt.date


def winter_room(building: Building, drum: Drum, now: dt.datetime) -> WinterRoom | None:
    """The room of one drum; None outside winter, indoors, or where the drum takes nothing. `drum` with its site."""
    on = building.local(now).date()
    if not settings_of(drum.site, on).winter:
        return None
    ((site, drums),) = gather_drums(building, now, only=drum)
    return room_of(drums[0], site, settings_of(site, on), pail_of_site(building, site), on, now)


def pail_of_site(building: Building, site: Site) -> int:
    """Millilitres of the site's first pail, 0 where it has none. One query."""
    return (
        Pail.objects.within(building).filter(site=site).order_by("number").values_list("millilitres", flat=True).first()
        or 0
    )


def room_of(
    drum: DrumSnapshot, site: Site, settings: SiteSettings, pail_ml: int, on: dt.date, now: dt.datetime
) -> WinterRoom | None:
    """The same from what is at hand. `on`: the local date of `now`."""
    if not settings.winter or drum.state is not DrumState.IN_SERVICE or not pail_ml:
        return None
    air, winter = climate_of(site)
    days = days_until_spring(winter, air, on)
    if days is None:
        return None
    browns_ml = site.half_cups_per_pail * site.cup_ml // 2
    return WinterRoom(pails_until_spring(drum, settings, pail_ml, browns_ml, now), on + dt.timedelta(days=days))
