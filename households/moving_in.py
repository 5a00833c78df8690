"""Many households join at once: the list that a building brings along."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID, uuid5

from django.contrib.auth.hashers import make_password
from django.db.models.functions import Lower

from .cards import give_cards
from .models import Account, Audit, Building, Household, Person, Role


@dataclass(frozen=True)
class Arrival:
    """A household that lives here from a day on, and its people: (name, e-mail address or nothing)."""

    uid: UUID
    label: str
    joined_on: dt.date
    people: tuple[tuple[str, str], ...]


def admit_households(
    *, building: Building, arrivals: Sequence[Arrival], by: Person | None, now: dt.datetime
) -> list[Household]:
    """Add households with their people as residents, and a card each; as many statements for one as for many.

    Call with the building locked, and with labels and addresses that nobody here has.
    """
    households: list[Household] = Household.objects.bulk_create(
        Household(building=building, uid=one.uid, label=one.label, joined_on=one.joined_on) for one in arrivals
    )
    accounts = _accounts(building, {email for one in arrivals for _name, email in one.people if email})
    people = Person.objects.bulk_create(
        Person(
            building=building,
            uid=uuid5(one.uid, f"person {number}"),
            name=name,
            household=household,
            account=accounts.get(email),
            language=building.language,
        )
        for one, household in zip(arrivals, households, strict=True)
        for number, (name, email) in enumerate(one.people, start=1)
    )
    first_days = [one.joined_on for one in arrivals for _person in one.people]
    Role.objects.bulk_create(
        Role(
            building=building,
            uid=uuid5(person.uid, "resident"),
            person=person,
            kind=Role.Kind.RESIDENT,
            starts_on=first_day,
        )
        for person, first_day in zip(people, first_days, strict=True)
    )
    give_cards(building, households, building.local(now).date())
    Audit.note(building, by, "households-added", now, households=len(households))
    return households


def _accounts(building: Building, emails: set[str]) -> dict[str, Account]:
    """The account of each address, made where there is none; one may be a person in several buildings."""
    Account.objects.bulk_create(
        [
            Account(email=email, language=building.language, password=make_password(None))
            for email in sorted(emails - set(_known(emails)))
        ],
        ignore_conflicts=True,  # made in another building at this moment
    )
    return _known(emails)


def _known(emails: set[str]) -> dict[str, Account]:
    found = Account.objects.annotate(lower=Lower("email")).filter(lower__in=emails)
    return {account.email.lower(): account for account in found}
