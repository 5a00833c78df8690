"""Fixing cells of a plan: a household on a duty for sure, or on no account; and letting go again."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from households.ledger import open_ledger
from households.models import Audit, Building, DutyKind, Household, Person, Pin, Site

CHOICES = ("pin", "forbid", "free")


@dataclass(frozen=True)
class CellTold:
    kind_uid: UUID
    day: dt.date
    household_uid: UUID
    choice: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named.

        `cell`: a duty's kind and day as `<uuid>/<day>`, as the page sends it; else `kind` and `day`.
        """
        kind, slash, day = str(raw.get("cell") or "").partition("/")
        reader = Reader({**raw, "kind": kind, "day": day} if slash else raw)
        on = reader.day("day")
        if on is None:
            reader.errors.setdefault("day", _("Which duty, on which day?"))
        told = cls(reader.uid("kind"), on or dt.date.min, reader.uid("household"), reader.choice("choice", [*CHOICES]))
        reader.finish()
        return told


def set_cell(*, building: Building, site: Site, told: CellTold, person: Person | None, now: dt.datetime) -> None:
    """Fix a cell or let it go; it counts from the next plan on. Doing it twice changes nothing.

    Raises Refused for a duty or household that isn't there.
    """
    with open_ledger(building):
        kind = DutyKind.objects.within(building).filter(site=site, uid=told.kind_uid).first()
        home = Household.objects.within(building).filter(uid=told.household_uid, assignment__drum__site=site).first()
        if kind is None or home is None:
            raise Refused({"household": _("There is no such duty or household here.")})
        cell = {"building": building, "kind": kind, "day": told.day, "household": home}
        if told.choice == "free":
            Pin.objects.filter(**cell).delete()
        else:
            Pin.objects.update_or_create(**cell, defaults={"is_forbidden": told.choice == "forbid"})
        Audit.note(building, person, f"rota-{told.choice}", now, household=str(home.uid), day=told.day.isoformat())
