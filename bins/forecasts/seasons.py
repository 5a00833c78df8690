"""Answering "what if": the plan of a site from its own record or from print, lived for a season by the model."""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Min, Sum

from bins.decisions.gather import settings_of
from bins.forecasts.books import STANDS, climate
from bins.forecasts.learning import learnt_of
from bins.forecasts.stays import vessel
from bins.models import Contribution, Pail, Place, WhatIf
from bins.process.model.border import Plan, Vessel
from bins.process.model.results import DateRange, Range, Season
from bins.process.model.season import what_if
from bins.process.model.shrinking import shrink
from households.models import Building, Site

# Seven published schemes: 1.4 to 3.5 kg a household and week, plan with 2.2.
PRINTED_KG_A_WEEK = 2.2
OWN_DAYS = 84  # chosen: twelve weeks, past one holiday
LEAST_OWN_DAYS = 28  # chosen: four weeks of record before it counts for more than print
LEAST_HOUSEHOLDS = 5  # of fewer no mean is told, or it would tell of one
SEASON_DAYS = 365
USUAL_LITRES = 100  # chosen: of a hatch, where a site has none yet
START_EVERY_DAYS, MOST_STARTS = 28, 6
SURE_PERMILLE = 800  # the same 8 of 10 that a range is meant to hold


@dataclass(frozen=True)
class Habits:
    """What a household brings, and the pail and browns it does so with. `is_own`: from the site's own record."""

    kg_per_week: float
    kg_per_litre: float
    browns_per_scraps: float
    households: int
    is_own: bool


def habits(building: Building, site: Site, now: dt.datetime) -> Habits:
    """Mean kilos a household and week of the last twelve weeks; from print where the record is too short. 2 queries."""
    since = now - dt.timedelta(days=OWN_DAYS)
    rows = Contribution.objects.within(building).filter(
        drum__site=site, counts_at__gte=since, counts_at__lt=now, **STANDS
    )
    found = rows.aggregate(
        grams=Sum("scraps_g"), first=Min("counts_at"), households=Count("attribution__household", distinct=True)
    )
    pail = Pail.objects.within(building).filter(site=site).order_by("number").first()
    days = (now - found["first"]).days + 1 if found["first"] else 0
    is_own = days >= LEAST_OWN_DAYS and found["households"] >= LEAST_HOUSEHOLDS
    own = (found["grams"] or 0) / 1000 / found["households"] / days * 7 if is_own else 0
    litre, pail_ml = (pail.scraps_g_per_l / 1000, pail.millilitres) if pail else (0.45, 5000)
    return Habits(
        kg_per_week=round(own, 2) if own > 0 else PRINTED_KG_A_WEEK,
        kg_per_litre=litre,
        browns_per_scraps=site.half_cups_per_pail * site.cup_ml / 2 / pail_ml,
        households=found["households"],
        is_own=own > 0,
    )


def plans_of(building: Building, row: WhatIf, now: dt.datetime) -> tuple[Plan, ...]:
    """A year from its beginning; and, where compost is wanted by a day, one plan for each start up to it. 5 queries."""
    site = row.site
    known = habits(building, site, now)
    chambers = Place.objects.within(building).filter(site=site, kind=Place.Kind.CHAMBER)
    indoors = site.air == Site.Air.INDOORS
    smallest = chambers.order_by("litres", "drum__number", "letter").first()
    # Every hatch of a plan is as the smallest one is, and as that is made now.
    hatch = vessel(smallest, smallest, indoors) if smallest else Vessel(USUAL_LITRES, indoors=indoors)
    lessons = [lesson for _ended, lesson in learnt_of(building)[site.pk]]

    def plan(began: dt.date, days: int, need_by: dt.date | None) -> Plan:
        return Plan(
            began=began,
            days=days,
            households=row.households,
            drums=row.drums,
            vessel=hatch,
            climate=climate(site),
            curing_bins=row.curing_bins,
            kg_per_week=known.kg_per_week,
            browns=site.browns,
            browns_per_scraps=row.browns_percent / 100,
            kg_per_litre=known.kg_per_litre,
            need_by=need_by,
            site=shrink(lessons),
            settings=settings_of(site, began),
        )

    found = [plan(row.begins_on, SEASON_DAYS, None)]
    if row.need_by is not None:
        for at in range(MOST_STARTS):
            began = row.begins_on + dt.timedelta(days=START_EVERY_DAYS * at)
            if began < row.need_by:
                found.append(plan(began, (row.need_by - began).days + 1, row.need_by))
    return tuple(found)


def live_all(plans: Sequence[Plan], tell: Callable[[int, int], None]) -> tuple[Season, ...]:
    """Live one plan after the other; `tell(days done, days in all)` now and then. Some seconds a year."""
    all_days, done, found = sum(plan.days for plan in plans), 0, []
    for plan in plans:
        before = done
        found.append(what_if(plan, lambda days, _all, before=before: tell(before + days, all_days)))  # type: ignore[misc]
        done += plan.days
    return tuple(found)


def answer_of(plans: Sequence[Plan], seasons: Sequence[Season]) -> dict[str, Any]:
    """The answer as a row keeps it."""
    plan, season = plans[0], seasons[0]
    return {
        "kg_per_week": plan.kg_per_week,
        "full_permille": round(1000 * season.full_site_probability),
        "open_percent": _amounts(season.open_percent),
        "first_full": _days(season.first_full, plan.began),
        "first_ready": _days(season.first_ready, plan.began),
        "compost_litres": _amounts(season.compost_litres),
        "starts": [
            {"days": (one.began - plan.began).days, "permille": round(1000 * (lived.ready_by_need or 0))}
            for one, lived in zip(plans[1:], seasons[1:], strict=True)
        ],
    }


def _amounts(found: Range) -> list[int]:
    return [round(found.p10), round(found.p50), round(found.p90)]


def _days(found: DateRange, began: dt.date) -> list[int | None]:
    return [None if one is None else (one - began).days for one in (found.p10, found.p50, found.p90)]
