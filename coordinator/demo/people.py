"""Who lives in the invented block: 28 households, of which 14 bring scraps."""

import datetime as dt
from uuid import UUID

from bins.models import Assignment
from bins.people.joining import Joining, assign, join
from bins.people.moving_out import Leaving, move_out
from households.ledger import open_ledger
from households.models import Building, Household, Person
from households.moving_in import Arrival, admit_households
from households.people import Newcomer

from .block import day_of, drums, uid

HOUSEHOLDS = 28
# Those who take part, by the number of their flat (from 0).
NAMES = ("Imani", "Tomasz", "Sorin", "Bettina", "Olu", "Petra", "Nadim", "Greta", "Yannick", "Salome", "Ilse", "Farid",
         "Minh", "Rosa")  # fmt: skip
DRUM_OF = (1, 1, 2, 1, 2, 3, 1, 2, 1, 3, 1, 2, 3, 2)  # uneven, so that the drums differ in stage
ACCOUNTS = ("wanda", "imani", "tomasz", "yusra")
MOVES_OUT, LEAVES_ON, COMES_ON = 7, 420, 434  # whose flat stands empty for two weeks
NEWCOMER = "Leopold"


def move_in(here: Building, wanda: Person, now: dt.datetime) -> None:
    """All 28 households on the first day, each with a drum, and Yusra of the committee from elsewhere."""
    arrivals = [_arrival(number, NAMES[number] if number < len(NAMES) else "") for number in range(HOUSEHOLDS)]
    with open_ledger(here):
        households = admit_households(building=here, arrivals=arrivals, by=wanda, now=now)
    all_drums = drums(here)
    for number, household in enumerate(households):
        assign(here, household, all_drums[DRUM_OF[number % len(DRUM_OF)] - 1])
    committee = Newcomer("Yusra", "", "yusra@demo.invalid", ("committee",), "en")
    join(building=here, told=Joining(uid("Yusra"), committee), by=wanda, now=now)


def come_and_go(here: Building, wanda: Person, number: int, now: dt.datetime) -> None:
    """One household moves out, and two weeks later other people move into that flat."""
    if number == LEAVES_ON:
        told = {"uid": str(uid("moves out")), "last_day": day_of(number).isoformat(), "sure": "yes", "share": "garden"}
        household = Household.objects.within(here).get(uid=_household_uid(MOVES_OUT))
        move_out(building=here, household=household, told=Leaving.from_raw(told), person=wanda, via="web", now=now)
    if number == COMES_ON:
        arrival = Arrival(uid("household of " + NEWCOMER), f"Flat {MOVES_OUT + 1}", day_of(number), ((NEWCOMER, ""),))
        with open_ledger(here):
            (household,) = admit_households(building=here, arrivals=[arrival], by=wanda, now=now)
        assign(here, household, drums(here)[DRUM_OF[MOVES_OUT] - 1])


def taking_part(here: Building) -> dict[int, Person]:
    """Number of the flat -> who brings its scraps, of those that live here now and take part."""
    wanted = {_household_uid(number): number for number in range(len(NAMES))}
    wanted[uid("household of " + NEWCOMER)] = MOVES_OUT
    people = Person.objects.within(here).filter(household__uid__in=wanted, household__left_on__isnull=True)
    found = {wanted[one.household.uid]: one for one in people.select_related("household", "account") if one.household}
    return dict(sorted(found.items()))


def homes_taking_part(here: Building) -> dict[int, Household]:
    """Number of the flat -> household, of those that live here now and take part."""
    return {number: one.household for number, one in taking_part(here).items() if one.household is not None}


def number_of_household(household: UUID) -> int:
    """The number of the flat of somebody who takes part."""
    known = {_household_uid(number): number for number in range(len(NAMES))}
    return known.get(household, MOVES_OUT)


def drum_of(here: Building, person: Person) -> UUID:
    found: UUID = Assignment.objects.within(here).values_list("drum__uid", flat=True).get(household=person.household_id)
    return found


def in_charge(here: Building) -> Person:
    """Wanda."""
    person: Person = Person.objects.within(here).get(name="Wanda")
    return person


def committee(here: Building) -> Person:
    """Yusra."""
    person: Person = Person.objects.within(here).get(name="Yusra")
    return person


def _household_uid(number: int) -> UUID:
    return uid(f"household {number}")


def _arrival(number: int, name: str) -> Arrival:
    email = f"{name.lower()}@demo.invalid" if name.lower() in ACCOUNTS else ""
    return Arrival(_household_uid(number), f"Flat {number + 1}", day_of(0), ((name or f"Flat {number + 1}", email),))
