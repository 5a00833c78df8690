"""How many litres of browns a site has, by what was counted, what came in and what drop-offs took since."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from functools import reduce
from operator import or_

from django.db.models import Min, Q, Sum

from bins.models import Amendment, BrownsStock, BrownsStore, Contribution, Pail
from bins.process.capacity import Load
from bins.process.stock import (
    Caution,
    Room,
    Weeks,
    cautions,
    days_of_cover,
    largest_store_litres,
    reorder_point_litres,
    weekly_litres,
)
from households.models import Building, Household, Site

LOOKED_BACK = dt.timedelta(days=28)  # chosen: four weeks even out holidays
LEAST_DAYS = 14  # chosen: a younger record says less than the plan
STANDS = Q(reverses__isnull=True, reversed_by__isnull=True)


@dataclass(frozen=True)
class StockState:
    """The store of a site. `litres` is None until somebody has counted or something came in: no record is not zero."""

    site: Site
    store: BrownsStore
    litres: int | None
    counted_at: dt.datetime | None
    weekly: float
    is_measured: bool  # weekly use by the record; else by the plan
    reorder_at: int
    days: int | None
    most: int
    minds: tuple[Caution, ...]

    @property
    def is_low(self) -> bool:
        """Time to order: at or below the reorder point."""
        return self.litres is not None and self.weekly > 0 and self.litres <= self.reorder_at

    @property
    def room(self) -> int | None:
        """Litres that may still be brought; None where nobody knows what is there."""
        return None if self.litres is None else max(0, self.most - self.litres)

    @property
    def is_over(self) -> bool:
        return self.litres is not None and self.litres > self.most

    @property
    def is_too_small(self) -> bool:
        """The store holds less than is needed until the next delivery is there."""
        return self.reorder_at > self.most


def stocks(building: Building, now: dt.datetime) -> tuple[StockState, ...]:
    """The store of each site, by name; seven queries however many sites and rows there are."""
    sites = list(Site.objects.within(building).order_by("name", "pk"))
    stores = {store.site_id: store for store in BrownsStore.objects.within(building)}
    begun, had, counted = _begun(building)
    used = _used(building, begun, now)
    planned = _planned(building, sites, now)
    found = []
    for site in sites:
        store = stores.get(site.pk) or BrownsStore(building=building, site=site)
        since, lately_ml, days = used[site.pk]
        is_measured = days >= LEAST_DAYS
        weekly = lately_ml * 7 / days / 1000 if is_measured else planned.get(site.pk, 0.0)
        room = Room(store.room)
        litres = round((had[site.pk] - since) / 1000) if site.pk in begun else None
        found.append(
            StockState(
                site=site,
                store=store,
                litres=None if litres is None else max(0, litres),
                counted_at=counted.get(site.pk),
                weekly=weekly,
                is_measured=is_measured,
                reorder_at=reorder_point_litres(
                    max(0.0, weekly), Weeks(store.delivery_weeks, store.review_weeks, store.safety_weeks)
                ),
                days=None if litres is None else days_of_cover(litres, weekly),
                most=largest_store_litres(site.browns, room, store.most_litres),
                minds=cautions(site.browns, room),
            )
        )
    return tuple(found)


def _begun(building: Building) -> tuple[dict[int, dt.datetime], dict[int, int], dict[int, dt.datetime]]:
    """By site: since when its sum runs (the last count, else the first delivery), what was there or came, the count."""
    begun: dict[int, dt.datetime] = {}
    had: defaultdict[int, int] = defaultdict(int)
    counted: dict[int, dt.datetime] = {}
    rows = BrownsStock.objects.within(building).filter(STANDS).order_by("counts_at", "ledger_number")
    for row in rows:
        if row.act == BrownsStock.Act.COUNT:
            had[row.site_id], counted[row.site_id] = row.millilitres, row.counts_at
            begun[row.site_id] = row.counts_at
        else:
            had[row.site_id] += row.millilitres
            begun.setdefault(row.site_id, row.counts_at)
    return begun, had, counted


def _used(
    building: Building, begun: dict[int, dt.datetime], now: dt.datetime
) -> defaultdict[int, tuple[int, int, float]]:
    """By site: millilitres used since its sum runs, millilitres used lately, and for how many days that was."""
    after = now - LOOKED_BACK
    found: defaultdict[int, tuple[int, int, float]] = defaultdict(lambda: (0, 0, 0.0))
    for model, amount, site in (
        (Contribution, "browns_ml", "drum__site"),
        (Amendment, "millilitres", "batch__drum__site"),
    ):
        since = reduce(or_, (Q(**{site: pk, "counts_at__gt": at}) for pk, at in begun.items()), Q(pk__in=[]))
        rows = model.objects.within(building).filter(Q(counts_at__gt=after) | since, counts_at__lte=now)
        if model is Amendment:
            rows = rows.exclude(material=Amendment.Material.WATER)
        for one in (
            rows.order_by()
            .values(site)
            .annotate(
                since=Sum(amount, filter=since),
                lately=Sum(amount, filter=Q(counts_at__gt=after)),
                first=Min("counts_at", filter=Q(counts_at__gt=after)),
            )
        ):
            used, lately, days = found[one[site]]
            span = (now - one["first"]).total_seconds() / 86400 if one["first"] else 0.0
            found[one[site]] = (used + (one["since"] or 0), lately + (one["lately"] or 0), max(days, span))
    return found


def _planned(building: Building, sites: list[Site], now: dt.datetime) -> dict[int, float]:
    """Litres a week by the plan: the households expected, or all who live here, with the sign's cups."""
    pails: dict[int, Pail] = {}
    for pail in Pail.objects.within(building).order_by("number"):
        pails.setdefault(pail.site_id, pail)
    living = Household.objects.within(building).living_on(building.local(now).date()).count()
    usual = Load()
    return {
        site.pk: weekly_litres(
            site.households_expected or living,
            usual.kg_per_week / (pail.scraps_g_per_l / 1000),
            site.half_cups_per_pail * site.cup_ml / 2 / pail.millilitres,
        )
        for site in sites
        if (pail := pails.get(site.pk)) is not None
    }
