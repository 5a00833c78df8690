"""What the drums of a building carry, by the site's own figures."""

from collections import defaultdict
from dataclasses import dataclass
from functools import lru_cache
from math import ceil

from bins.decisions.gather import rules_of
from bins.models import Drum, Pail, Place
from bins.process.base_layer import base_layer_litres
from bins.process.capacity import Carried, Load, carried, days_to_empty, run
from bins.process.site import SiteSettings
from households.models import Building, Site

YEARS = 10  # chosen: the share of open days settles within two fills; a page must not wait for thirty years
LEAST_BROWNS_PER_SCRAPS = 1.0  # the sum in print; and what pellets come to once they have swollen


@dataclass(frozen=True)
class Open:
    """With so many households: the percent of days with an open hatch, as the site is and with a curing bin."""

    households: int
    percent: int
    with_bin_percent: int


@dataclass(frozen=True)
class SiteCapacity:
    """The answer for one site. `drums` are those in service."""

    site: Site
    drums: int
    chamber_litres: int  # of the smallest
    rest_days: int  # from closing to empty
    load: Load
    carried: Carried
    has_bin: bool
    open: tuple[Open, ...]  # for the number expected, or for the ends of the range carried
    base_layer_litres: int  # of the site's browns, into an empty chamber


def capacities(building: Building) -> tuple[SiteCapacity, ...]:
    """Each site of the building by name; four queries however many there are."""
    drums: defaultdict[int, int] = defaultdict(int)
    for site_id in Drum.objects.within(building).filter(state=Drum.State.IN_SERVICE).values_list("site", flat=True):
        drums[site_id] += 1
    litres: defaultdict[int, list[int]] = defaultdict(list)
    bins = set()
    for place in Place.objects.within(building):
        if place.kind == Place.Kind.CHAMBER:
            litres[place.site_id].append(place.litres)
        else:
            bins.add(place.site_id)
    pails: dict[int, Pail] = {}
    for pail in Pail.objects.within(building).order_by("number"):
        pails.setdefault(pail.site_id, pail)
    sites = Site.objects.within(building).select_related("rules").order_by("name", "pk")
    return tuple(
        _capacity(site, drums[site.pk], min(litres[site.pk]), site.pk in bins, pails[site.pk])
        for site in sites
        if drums[site.pk] and site.pk in pails
    )


def _capacity(site: Site, drums: int, chamber_litres: int, has_bin: bool, pail: Pail) -> SiteCapacity:
    rules = rules_of(site)
    settings = SiteSettings(
        close_mark_percent=rules.close_mark_percent,
        longest_fill_days=rules.longest_fill_days,
        composting_days=rules.composting_days,
        curing_days=rules.curing_days,
    )
    own_ratio = site.half_cups_per_pail * site.cup_ml / 2 / pail.millilitres
    load = Load(
        kg_per_litre=pail.scraps_g_per_l / 1000, browns_per_scraps=max(LEAST_BROWNS_PER_SCRAPS, round(own_ratio, 2))
    )
    found = carried(chamber_litres, drums, load, settings)
    asked = [site.households_expected] if site.households_expected else sorted({found.careful, found.most} - {0})
    return SiteCapacity(
        site=site,
        drums=drums,
        chamber_litres=chamber_litres,
        rest_days=days_to_empty(settings),
        load=load,
        carried=found,
        has_bin=has_bin,
        open=tuple(
            Open(
                households,
                *(_open_percent(ceil(households / drums), chamber_litres, load, settings, b) for b in (has_bin, True)),
            )
            for households in asked
        ),
        base_layer_litres=base_layer_litres(chamber_litres, site.browns),
    )


@lru_cache(maxsize=256)
def _open_percent(households: int, chamber_litres: int, load: Load, settings: SiteSettings, has_bin: bool) -> int:
    """The fullest drum speaks for all: a household has one drum."""
    return run(households, chamber_litres, load, settings, with_curing_bin=has_bin, years=YEARS).open_percent
