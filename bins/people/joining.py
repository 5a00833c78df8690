"""Somebody joins a building: the person, the household, and which drum is theirs."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.db.models import Count
from django.utils.translation import gettext as _

from bins.models import Assignment, Drum
from bins.records import Reader, Refused
from households.cards import MOST_HOUSEHOLDS
from households.models import Building, Household, Person, Role
from households.people import Newcomer, admit_newcomer


@dataclass(frozen=True)
class Joining:
    uid: UUID
    newcomer: Newcomer

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], roles: Sequence[str]) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        email = reader.words("email", 254, "")
        if email:
            try:
                validate_email(email)
            except ValidationError:
                reader.errors["email"] = _("That is no e-mail address. Leave it empty for somebody without one.")
        household = reader.words("household", 60, "")
        if not roles or not set(roles) <= set(Role.Kind.values):
            reader.errors["roles"] = _("Choose what this person is here.")
        elif Role.Kind.RESIDENT in roles and not household:
            reader.errors["household"] = _("A resident belongs to a household. What is it called?")
        told = cls(
            uid=reader.uid(),
            newcomer=Newcomer(
                name=reader.words("name", 80, _("What is the person's name?")),
                household=household,
                email=email.lower(),
                roles=tuple(roles),
                language=reader.choice("language", ["en", "es", "fr", "ar"], "en"),
            ),
        )
        reader.finish()
        return told


def join(*, building: Building, told: Joining, by: Person | None, now: dt.datetime) -> Person:
    """Add the person, and give a new household the drum that the fewest use. Once a uid.

    Raises UidReused, and Refused for one household too many.
    """
    with transaction.atomic():
        living = Household.objects.within(building).filter(left_on__isnull=True)
        is_new = told.newcomer.household and not living.filter(label=told.newcomer.household).exists()
        if is_new and living.count() >= MOST_HOUSEHOLDS:
            most = _("At most %(most)s households share the drums of a building.") % {"most": MOST_HOUSEHOLDS}
            raise Refused({"household": most})
        person = admit_newcomer(building=building, newcomer=told.newcomer, by=by, now=now, uid=told.uid)
        household = person.household
        if household and not Assignment.objects.within(building).filter(household=household).exists():
            assign(building, household, _fewest_households(building))
    return person


def assign(building: Building, household: Household, drum: Drum) -> None:
    """Give a household its one drum."""
    Assignment.objects.update_or_create(building=building, household=household, defaults={"drum": drum})


def _fewest_households(building: Building) -> Drum:
    drum: Drum = (
        Drum.objects.within(building)
        .annotate(households=Count("assignments"))
        .order_by("state", "households", "number")[0]  # in_service sorts before the other states
    )
    return drum
