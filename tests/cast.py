"""A small cast for tests: two invented blocks and the people in them."""

import datetime as dt
from dataclasses import dataclass
from uuid import UUID, uuid5

from bins.founding.block import Block
from bins.founding.founding import Founded, found_block
from bins.models import Drum
from bins.people.joining import Joining, join
from households.models import Account, Building, Person
from households.people import Newcomer
from households.tenancy import inside

NOW = dt.datetime(2026, 5, 4, 16, 0, tzinfo=dt.UTC)  # a Monday, six in the evening in Berlin
BASE = UUID("00000000-0000-4000-8000-00000000c0de")


@dataclass(frozen=True)
class Cast:
    building: Building
    drum: Drum
    caretaker: Person  # also committee
    resident: Person
    neighbour: Person  # another household of the same block
    committee: Person
    checker: Person
    elsewhere: Building
    elsewhere_drum: Drum
    elsewhere_person: Person  # holds every role there, and none here

    @property
    def people(self) -> dict[str, Person]:
        return {
            "caretaker": self.caretaker,
            "resident": self.resident,
            "committee": self.committee,
            "checker": self.checker,
        }


def block(name: str, person: str, *, drums: int = 1, household: str = "") -> Block:
    return Block(
        uid=uuid5(BASE, name),
        name=name,
        time_zone="Europe/Berlin",
        language="en",
        units="metric",
        site="Courtyard",
        air="outdoors",
        fallback="the brown bin by the gate",
        drums=drums,
        chamber_litres=100,
        split="across",
        person=person,
        household=household,
    )


def found(name: str, person: str, email: str, *, drums: int = 1, household: str = "") -> Founded:
    return found_block(block=block(name, person, drums=drums, household=household), email=email, now=NOW)


def newcomer(building: Building, name: str, household: str, *roles: str) -> Person:
    email = f"{name.lower()}@{building.name.lower().replace(' ', '-')}.invalid"
    told = Joining(uuid5(building.uid, name), Newcomer(name, household, email, roles, "en"))
    with inside(building.uid) as here:
        return join(building=here, told=told, by=None, now=NOW)


def cast_of_two_blocks() -> Cast:
    here = found("Quince Court", "Ottilie", "ottilie@quince-court.invalid")
    there = found("Sorrel Yard", "Bram", "bram@sorrel-yard.invalid", household="Attic")
    newcomer(there.building, "Bram", "Attic", "checker")
    return Cast(
        building=here.building,
        drum=here.drums[0],
        caretaker=here.person,
        resident=newcomer(here.building, "Imani", "Flat 3", "resident"),
        neighbour=newcomer(here.building, "Sorin", "Flat 5", "resident"),
        committee=newcomer(here.building, "Yusra", "", "committee"),
        checker=newcomer(here.building, "Piet", "", "checker"),
        elsewhere=there.building,
        elsewhere_drum=there.drums[0],
        elsewhere_person=there.person,
    )


def account_of(person: Person) -> Account:
    assert person.account is not None
    return person.account
