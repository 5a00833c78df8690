"""Rows of a list of households against the households that live here."""

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count
from django.utils.translation import gettext as _

from bins.models import Assignment, Drum
from bins.records import Refused
from bins.sheets.drum_numbers import DrumNumbers
from bins.sheets.sheet_rows import HouseholdRow
from households.cards import MOST_HOUSEHOLDS
from households.ledger import Ledger
from households.models import Building, Household, Person
from households.moving_in import Arrival, admit_households


@dataclass(frozen=True)
class Ready:
    arrival: Arrival
    drum: Drum

    @property
    def day(self) -> dt.date:
        return self.arrival.joined_on


class Households:
    """What is known here when the rows come, in five queries however many they are."""

    def __init__(self, building: Building, now: dt.datetime) -> None:
        self.building, self.now = building, now
        self.today = building.local(now).date()
        living = Household.objects.within(building).living_on(self.today)
        self.labels = {label.casefold() for label in living.values_list("label", flat=True)}
        accounts = Person.objects.within(building).filter(account__isnull=False)
        self.emails = {email.lower() for email in accounts.values_list("account__email", flat=True)}
        self.drums = DrumNumbers(building)
        users = Drum.objects.within(building).annotate(users=Count("assignments")).values_list("pk", "users")
        self.users = Counter(dict(users))

    def known(self, uids: set[UUID]) -> set[UUID]:
        return set(Household.objects.within(self.building).filter(uid__in=uids).values_list("uid", flat=True))

    def fit(self, uid: UUID, row: HouseholdRow) -> tuple[Ready, dict[str, str]]:
        """The household as it would join. Raises Refused by field."""
        errors = {}
        label = row.household.casefold()
        if label in self.labels:
            errors["household"] = _("A household of this name lives here already, or stands further up in this file.")
        elif len(self.labels) >= MOST_HOUSEHOLDS:
            errors["household"] = _("At most %(most)s households share the drums of a building.") % {
                "most": MOST_HOUSEHOLDS
            }
        if any(email in self.emails for email in row.emails) or len(set(row.emails)) < len(row.emails):
            errors["email"] = _("This address belongs to somebody here, or stands further up in this file.")
        drum = self._fewest() if row.drum is None else self.drums.one(row.drum)
        if drum is None:
            errors["drum"] = _("There is no drum of that number here, or more than one.")
        if errors or drum is None:
            raise Refused(errors)
        self.labels.add(label)
        self.emails.update(row.emails)
        self.users[drum.pk] += 1
        emails = [*row.emails, *[""] * (len(row.people) - len(row.emails))]
        people = tuple(zip(row.people, emails, strict=True))
        return Ready(Arrival(uid, row.household, row.joined or self.today, people), drum), {}

    def write(self, ledger: Ledger, ready: Sequence[Any], person: Person | None) -> None:
        building = ledger.building
        arrivals = [one.arrival for one in ready]
        households = admit_households(building=building, arrivals=arrivals, by=person, now=self.now)
        Assignment.objects.bulk_create(
            Assignment(building=building, household=household, drum=one.drum)
            for household, one in zip(households, ready, strict=True)
        )

    def _fewest(self) -> Drum | None:
        in_service = [drum for drum in self.drums.all if drum.state == Drum.State.IN_SERVICE]
        return min(in_service or self.drums.all, key=lambda drum: (self.users[drum.pk], drum.number), default=None)
