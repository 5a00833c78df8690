"""A time booked for somebody without a phone is the same promise, and whoever booked it knows whom to tell."""

from typing import Any
from uuid import uuid4

import pytest

from bins.records import Refused
from bins.slots.booking import cancel
from bins.slots.closures import ClosedDays, close_days
from bins.slots.moving import settle_slots
from bins.slots.proxy import ForSomebody, book_for, booked_for_others, household_told, to_be_told
from households.ledger import UidReused, open_ledger
from households.models import Audit, Booking, Building, Card, Household, Slot
from households.tenancy import inside
from tests.cast import NOW, Cast

from .slotted import SATURDAY, TUESDAY, book_in, home, open_again, shut, slot_in

pytestmark = pytest.mark.embedded


def raw(slot: Slot, household: Household, **more: Any) -> dict[str, Any]:
    return {"uid": uuid4(), "household": household.uid, "slot": slot.uid, "day": TUESDAY} | more


def booked(here: Building, cast: Cast, values: dict[str, Any]) -> Booking:
    told = ForSomebody.from_raw(household_told(here, values))
    return book_for(building=here, told=told, person=cast.caretaker, now=NOW).row


def test_it_takes_the_same_numbered_places_as_anybody_and_the_last_one_once(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, households=2)
        book_in(here, slot, cast.resident)
        row = booked(here, cast, raw(slot, home(cast.neighbour)))
        assert (row.place, row.by_proxy, row.quarter_pails) == (2, True, 4)
        with pytest.raises(Refused) as refused:
            booked(here, cast, raw(slot, home(cast.neighbour)))
        assert [*refused.value.errors] == ["slot"]
        assert Audit.objects.within(here).filter(act="booked-on-behalf", person=cast.caretaker).count() == 1


def test_the_same_record_twice_is_one_and_other_values_are_refused(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        sent = raw(slot_in(here, cast), home(cast.neighbour))
        assert booked(here, cast, sent).pk == booked(here, cast, sent).pk
        for other in ({"household": home(cast.resident).uid}, {"quarter_pails": 8}, {"day": SATURDAY}):
            with pytest.raises(UidReused):
                booked(here, cast, sent | other)


def test_a_household_is_named_by_itself_or_by_its_card(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        card = Card.objects.within(here).get(household=home(cast.neighbour)).number
        by_card = raw(slot, home(cast.neighbour)) | {"household": "", "card": card}
        assert booked(here, cast, by_card).household == home(cast.neighbour)
        for values, field in (({"card": "0"}, "card"), ({"card": ""}, "household"), ({"day": ""}, "day")):
            with pytest.raises(Refused) as refused:
                booked(here, cast, by_card | {"uid": uuid4()} | values)
            assert field in refused.value.errors


def test_who_has_left_by_then_is_not_booked_for(cast: Cast) -> None:
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        Household.objects.within(here).filter(pk=home(cast.neighbour).pk).update(left_on=TUESDAY)
        assert booked(here, cast, raw(slot, home(cast.neighbour))).pk
        with pytest.raises(Refused) as refused:
            booked(here, cast, raw(slot, home(cast.neighbour), day=SATURDAY))
        assert [*refused.value.errors] == ["household"]


def test_what_is_shut_or_closed_since_is_told_to_whoever_booked_it(cast: Cast) -> None:
    def settle() -> list[tuple[str, bool]]:
        with open_ledger(here) as ledger:
            settle_slots(ledger.building, NOW)
        rows = booked_for_others(here, NOW)
        return [(row.state, row in to_be_told(rows)) for row in rows]

    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast)
        book_in(here, slot, cast.resident)  # its own: not in the list
        row = booked(here, cast, raw(slot, home(cast.neighbour)))
        assert settle() == [("kept", False)]
        shut(here, cast)
        assert settle() == [("off", True)]
        open_again(here, cast)
        assert settle() == [("kept", False)]
        closed = ClosedDays.from_raw({"uid": uuid4(), "first_day": TUESDAY, "words": "Yard fair"})
        close_days(building=here, site=cast.drum.site, told=closed, person=None, now=NOW)
        assert settle() == [("cancelled", True)]
        later = booked(here, cast, raw(slot, home(cast.neighbour), day=SATURDAY))
        cancel(building=here, row=later, now=NOW)
        assert [one.pk for one in booked_for_others(here, NOW)] == [row.pk], "what they gave up needs no telling"
