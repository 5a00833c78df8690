"""A site with set times: Tuesdays and Saturdays at six, from the Monday of the small cast on."""

import datetime as dt
from typing import Any
from uuid import UUID, uuid4, uuid5

from bins.models import Batch, Place
from bins.slots.booking import WantsSlot, book
from bins.slots.slots import NewSlot, add_slot
from households.models import Booking, Building, Household, Person, Slot
from tests.cast import NOW, Cast

TUESDAY = dt.date(2026, 5, 5)
SATURDAY = dt.date(2026, 5, 9)


def slot_in(here: Building, cast: Cast, **more: Any) -> Slot:
    """A slot of the cast's site, with room for two unless told otherwise."""
    raw = {
        "uid": str(uuid4()), "rule": "FREQ=WEEKLY;BYDAY=TU,SA", "begins_at": "18:00", "minutes": 60, "households": 2,
    }  # fmt: skip
    return add_slot(building=here, site=cast.drum.site, told=NewSlot.from_raw(raw | more), person=None, now=NOW)


def home(person: Person) -> Household:
    assert person.household is not None
    return person.household


def book_in(
    here: Building,
    slot: Slot,
    person: Person,
    day: dt.date = TUESDAY,
    *,
    uid: UUID | None = None,
    now: dt.datetime = NOW,
) -> Booking:
    told = WantsSlot(uid or uuid5(person.uid, f"{slot.uid} {day}"), slot.uid, day, 4)
    return book(building=here, told=told, household=home(person), now=now).row


def shut(here: Building, cast: Cast) -> None:
    """Close the open chamber's hatch, as the quarantine does, without its ceremony."""
    batch = Batch.objects.within(here).get(drum=cast.drum, stage="filling")
    Place.objects.within(here).filter(pk=batch.place_id).update(is_quarantined=True)


def open_again(here: Building, cast: Cast) -> None:
    batch = Batch.objects.within(here).get(drum=cast.drum, stage="filling")
    Place.objects.within(here).filter(pk=batch.place_id).update(is_quarantined=False)
