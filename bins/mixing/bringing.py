"""A household brings browns: a delivery to the store that says whose it was, told by the household itself."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from bins.mixing.storing import Act, Recorded, Stored, record_stock, undo_stock
from bins.models import BrownsStock
from bins.records import Reader, Refused
from households.models import Building, Household, Person, Site

MOST_ML = 500_000  # chosen: a car full of leaves; more is a delivery, and whoever takes it in writes it down
TAKEN_BACK_WITHIN = dt.timedelta(days=14)  # chosen: as long as a drop-off can be put right


@dataclass(frozen=True)
class Brought:
    """Browns that a household brought. An empty `kind`: what the site has as browns."""

    uid: UUID
    site_uid: UUID
    day: dt.date | None
    kind: str
    millilitres: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: litres above 0 up to 500. Raises Refused with every fault named."""
        reader = Reader(raw)
        millilitres = reader.millilitres("litres", MOST_ML)
        if millilitres is None and "litres" not in reader.errors:
            reader.errors["litres"] = reader.in_units(
                _("How many litres did you bring? A rough number will do."),
                _("How many gallons did you bring? A rough number will do."),
            )
        told = cls(
            uid=reader.uid(),
            site_uid=reader.uid("site"),
            day=reader.day("day"),
            kind=reader.choice("kind", [*Site.Browns.values]) if raw.get("kind") else "",
            millilitres=millilitres or 0,
        )
        reader.finish()
        return told


def bring_browns(
    *, building: Building, told: Brought, household: Household, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Add what a household brought to the store, once a uid; pages stop saying that the browns are used up.

    Raises Site.DoesNotExist for a site of another building, and UidReused.
    """
    stored = Stored(told.uid, told.site_uid, Act.DELIVERY, told.day, told.kind, told.millilitres, household.uid)
    return record_stock(building=building, told=stored, person=person, via=via, now=now)


def of_household(building: Building, household: Household) -> "QuerySet[BrownsStock]":
    """What a household brought and did not take back, newest first."""
    return (
        BrownsStock.objects.within(building)
        .filter(attribution__household=household, reverses__isnull=True, reversed_by__isnull=True)
        .order_by("-counts_at", "-ledger_number")
    )


def may_take_back(row: BrownsStock, now: dt.datetime) -> bool:
    """Whether it was written down lately enough."""
    return now - row.heard_at <= TAKEN_BACK_WITHIN


def take_browns_back(
    *, building: Building, uid: UUID, household: Household, person: Person | None, via: str, now: dt.datetime
) -> BrownsStock:
    """Take back what the household itself brought; twice gives the same row.

    Raises BrownsStock.DoesNotExist for anybody else's, and Refused for one written down over 14 days ago.
    """
    row: BrownsStock = BrownsStock.objects.within(building).get(
        uid=uid, reverses__isnull=True, attribution__household=household
    )
    if not may_take_back(row, now):
        raise Refused({"uid": _("This was written down more than 14 days ago. Tell the person in charge.")})
    return undo_stock(building=building, uid=row.uid, person=person, via=via, now=now)
