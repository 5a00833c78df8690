"""A time booked for somebody without a phone, by whoever looks after the place: the same promise as anybody's."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.db.models import Q
from django.utils.translation import gettext as _

from bins.intake.proxy import whose, with_households
from bins.records import Reader, Refused
from bins.slots.booking import Booked, WantsSlot, book
from households.models import Audit, Booking, Building, Household, Person
from households.models.booking import STANDS


@dataclass(frozen=True)
class ForSomebody:
    """A household wants a place at one occurrence, and somebody else writes it down."""

    household_uid: UUID
    wants: WantsSlot

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: household, and what `WantsSlot` reads; `time`, a slot and a day as
        `<uuid>/<day>`, as the page sends it, in place of both. Raises Refused with every fault named."""
        slot, slash, day = str(raw.get("time") or "").partition("/")
        reader = Reader(raw)
        household_uid = whose(reader, _("Who comes? Choose the household."))
        try:
            wants = WantsSlot.from_raw({**raw, "slot": slot, "day": day} if slash else raw)
        except Refused as refused:
            raise Refused(reader.errors | refused.errors) from None
        reader.finish()
        return cls(household_uid, wants)


def household_told(building: Building, raw: Mapping[str, Any]) -> dict[str, Any]:
    """Raw values with the household filled in where only the number of its card was told."""
    return with_households(building, [raw])[0]


def book_for(*, building: Building, told: ForSomebody, person: Person | None, now: dt.datetime) -> Booked:
    """Give a household the first free place at an occurrence, on its behalf. Once a uid.

    Raises UidReused, and Refused as `book`, and where the household does not live here on that day.
    """
    household: Household | None = Household.objects.within(building).filter(uid=told.household_uid).first()
    if household is None or not household.lives_here_on(told.wants.day):
        raise Refused({"household": _("That household does not live here on that day.")})
    booked = book(building=building, told=told.wants, household=household, now=now, by_proxy=True)
    if booked.is_new:
        Audit.note(building, person, "booked-on-behalf", now, booking=str(booked.row.uid))
    return booked


def to_be_told(rows: list[Booking]) -> list[Booking]:
    """Those that do not take place as they were booked."""
    return [row for row in rows if row.state != Booking.State.KEPT]


def booked_for_others(building: Building, now: dt.datetime) -> list[Booking]:
    """What was booked on somebody's behalf and is not over, with slot, site and household, by time. One query.

    What was taken out since is there as well: nobody but whoever booked it can tell the household.
    """
    gone = Q(state=Booking.State.CANCELLED) & ~Q(cause=Booking.Cause.HOUSEHOLD)
    return list(
        Booking.objects.within(building)
        .filter(STANDS | gone, by_proxy=True, ends_at__gt=now)
        .select_related("slot__site", "household")
        .order_by("begins_at", "pk")
    )
