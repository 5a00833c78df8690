"""The yes of the owner, the insurer and, for the weight, an engineer: given on a day, or not yet."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import uuid5

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from households.ledger import open_ledger
from households.models import Audit, Building, Permission, Person, Site

GIVEN, NOT_YET = "yes", "not_yet"
FRAME_KG = 30  # of a drum without anything in it, as in the load that is worked out for two chambers of 200 L
KG_PER_LITRE = 0.6  # of a wet mix; with the frame 270 kg for 400 L: 2.76 kN/m2 on 0.96 m2


@dataclass(frozen=True)
class Yes:
    of: str
    given_on: dt.date | None
    given_by: str


@dataclass(frozen=True)
class Permissions:
    is_raised: bool  # the drums stand on a balcony or a roof
    given: tuple[Yes, ...]

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """`raised`; for each of owner, insurer and engineer `answer-OF` (yes, not_yet), `on-OF` and `by-OF`.

        A yes has its day. Raises Refused with every fault named.
        """
        reader = Reader(raw)
        given = []
        for of in Permission.Of.values:
            day, by = reader.day(f"on-{of}"), reader.words(f"by-{of}", 120, "")
            if reader.choice(f"answer-{of}", [GIVEN, NOT_YET], NOT_YET) == NOT_YET:
                given.append(Yes(of, None, ""))
                continue
            if day is None:
                reader.errors.setdefault(f"on-{of}", _("On which day was the yes given?"))
            given.append(Yes(of, day, by))
        told = cls(is_raised=reader.yes("raised"), given=tuple(given))
        reader.finish()
        return told


def write_permissions(
    *, building: Building, site: Site, told: Permissions, person: Person | None, now: dt.datetime
) -> None:
    """Keep where the drums stand and whose yes there is. Refused for a day to come."""
    today = building.local(now).date()
    late = {
        f"on-{yes.of}": _("That day is still to come.") for yes in told.given if yes.given_on and yes.given_on > today
    }
    if late:
        raise Refused(late)
    with open_ledger(building):
        if site.is_raised != told.is_raised:
            site.is_raised = told.is_raised
            site.save(update_fields=["is_raised"])
        for yes in told.given:
            Permission.objects.update_or_create(
                building=building,
                site=site,
                of=yes.of,
                defaults={"given_on": yes.given_on, "given_by": yes.given_by},
                create_defaults={
                    "uid": uuid5(site.uid, f"permission {yes.of}"),
                    "given_on": yes.given_on,
                    "given_by": yes.given_by,
                },
            )
        days = {yes.of: yes.given_on.isoformat() if yes.given_on else None for yes in told.given}
        Audit.note(building, person, "permissions-told", now, site=str(site.uid), raised=told.is_raised, **days)


def missing(site: Site, permissions: Mapping[str, Permission]) -> tuple[str, ...]:
    """Whose yes is still to come; an engineer's only where the drums stand on a balcony or a roof."""
    needed = [of for of in Permission.Of if of != Permission.Of.ENGINEER or site.is_raised]
    return tuple(of for of in needed if of not in permissions or permissions[of].given_on is None)


def full_drum_kg(chamber_litres: int) -> int:
    """What a drum with two full chambers weighs, in kilos to the nearest ten."""
    return round((2 * chamber_litres * KG_PER_LITRE + FRAME_KG) / 10) * 10
