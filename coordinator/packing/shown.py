"""The package for whoever is in charge: the drums' own history, and the rows behind the figures, without people.

Nothing in it says who: no attribution, no people, no households. What households brought stands by day, in no order
within a day, and without saying how it is known where the month withholds that.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from uuid import UUID

from django.db import models

from bins.models import (
    AcceptedItem,
    AcceptedList,
    Amendment,
    Batch,
    Contribution,
    Decision,
    Drum,
    DrumChange,
    Harvest,
    HarvestPart,
    MaturityResult,
    MaturityTest,
    Movement,
    Overs,
    Pail,
    PailWeighing,
    Place,
    PlaceChange,
    Reading,
    SiteRules,
    StageChange,
    Visit,
    WrongItem,
)
from bins.months.calendar import after
from bins.months.figures import month
from bins.months.rows import FIGURES, rows
from households.models import Building, CommitteeDecision, Money, Site

from .. import rows as told
from .package import Resource, packed
from .whole import FIELDS_LEFT_OUT, resource_of

NAME = "compost-drums-figures"
# What stands in it: rows of drums, places, lots and money, which are of nobody.
MODELS: tuple[type[models.Model], ...] = (
    AcceptedItem, AcceptedList, Amendment, Batch, CommitteeDecision, Decision, Drum, DrumChange, Harvest, HarvestPart,
    MaturityResult, MaturityTest, Money, Movement, Overs, Pail, PailWeighing, Place, PlaceChange, Reading, Site,
    SiteRules, StageChange, WrongItem,
)  # fmt: skip
LEFT_OUT = {
    "people, households, roles, duties, shares, cards": "who lives here is nobody's business outside",
    "attribution": "no row says whose it is or who wrote it down",
    "drop-offs and visits one by one": "they stand by day, as behind the month's figures",
    "times of day, numbers in the books, fingerprints": "who was there at seven in the evening is known in a house",
    "whatever points at any of these": "it would point at nothing",
}
TELLING = ("fingerprint", "heard_at", "happened_at", "via", "ledger_number")


def export(building: Building) -> bytes:
    """The package. Call inside the building."""
    return pack(building.uid, building.name, resources(building))


def pack(uid: UUID, title: str, found: list[Resource]) -> bytes:
    """What `resources` found, as a file; needs no database."""
    return packed(NAME, uid, title, LEFT_OUT, found)


def resources(building: Building) -> list[Resource]:
    names: told.Names = {}
    tables = [told.table(Building, [building], names, (*FIELDS_LEFT_OUT[Building], "contact_phone"))]
    for model in told.in_order(MODELS):
        left_out = [*TELLING, *(field.name for field in told.fields_of(model) if _points_out(field))]
        found = model._base_manager.filter(building=building).order_by("uid")
        tables.append(told.table(model, found, names, left_out))
    return [*(_by_day(resource_of(table), building) for table in tables), *_of_months(building)]


def _by_day(resource: Resource, building: Building) -> Resource:
    """Instants as days of the building's own calendar."""
    instants = [field["type"] == "datetime" for field in resource.fields]

    def day(text: str) -> str:
        return str(building.local(dt.datetime.fromisoformat(text)).date()) if text else ""

    return replace(
        resource,
        fields=tuple(
            {"name": field["name"], "type": "date"} if is_instant else field
            for field, is_instant in zip(resource.fields, instants, strict=True)
        ),
        rows=[
            [day(text) if is_instant else text for text, is_instant in zip(row, instants, strict=True)]
            for row in resource.rows
        ],
    )


def _points_out(field: Any) -> bool:
    return isinstance(field, models.ForeignKey) and field.related_model not in MODELS


def _of_months(building: Building) -> Iterator[Resource]:
    days = list(_months(building))
    figures = [month(building, first_day).as_stored() for first_day in days]
    names = list(figures[0]) if figures else []
    yield Resource(
        "months",
        ({"name": "month", "type": "date"}, *({"name": name, "type": "integer"} for name in names)),
        [[str(day), *(str(told[name]) for name in names)] for day, told in zip(days, figures, strict=True)],
    )
    fields = ("day", "until", "amount", "known", "via", "is_correction")
    types = ("date", "date", "integer", "string", "string", "boolean")
    for figure in FIGURES:
        yield Resource(
            f"rows-{figure}",
            tuple({"name": name, "type": kind} for name, kind in zip(fields, types, strict=True)),
            [
                [
                    *map(str, (row.day, row.until or row.day, row.amount)),
                    *(row.known, row.via, str(row.is_correction).lower()),
                ]
                for first_day in days
                for row in rows(building, first_day, figure)
            ],
        )


def _months(building: Building) -> Iterator[dt.date]:
    """From the first row to the last, by the building's own calendar."""
    spans = [
        model.objects.within(building).aggregate(first=models.Min("counts_at"), last=models.Max("counts_at"))
        for model in (Contribution, Visit, Harvest)
    ]
    firsts, lasts = ([one[name] for one in spans if one[name]] for name in ("first", "last"))
    if not firsts:
        return
    day, last = building.local(min(firsts)).date().replace(day=1), building.local(max(lasts)).date()
    while day <= last:
        yield day
        day = after(day)
