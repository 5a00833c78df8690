"""A hatch is shut for now, and opened again by somebody who looked inside and gives a name."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.visit import CareVisit, add_visit
from bins.models import Place, PlaceChange, PlaceChangeAttribution, Visit
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Person


@dataclass(frozen=True)
class Shutting:
    uid: UUID
    place_uid: UUID
    reason: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(
            uid=reader.uid(),
            place_uid=reader.uid("place"),
            reason=reader.words("reason", 300, _("What is the reason?")),
        )
        reader.finish()
        return told


@dataclass(frozen=True)
class Reopening:
    """ "I looked inside and found nothing wrong.\""""

    uid: UUID
    place_uid: UUID

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `looked` must be yes."""
        reader = Reader(raw)
        if not reader.yes("looked") and "looked" not in reader.errors:
            reader.errors["looked"] = _("Look inside first, then say so here.")
        told = cls(uid=reader.uid(), place_uid=reader.uid("place"))
        reader.finish()
        return told


def shut(*, building: Building, told: Shutting, person: Person | None, via: str, now: dt.datetime) -> PlaceChange:
    """Shut a hatch or bin for now: nothing goes in and no batch moves there. Once a uid.

    Raises Place.DoesNotExist for one of another building, Refused where it is shut already.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(PlaceChange, building, told.uid, print_):
            return known
        place = Place.objects.within(building).select_related("site").get(uid=told.place_uid)
        if place.is_quarantined:
            raise Refused({"place": _("It is shut already. Nothing was changed.")})
        row = _change(ledger, place, told.uid, print_, person, via, now, is_shut=True, reason=told.reason)
        tell_residents(ledger, place.site, now)
    return row


def reopen(*, building: Building, told: Reopening, person: Person | None, via: str, now: dt.datetime) -> PlaceChange:
    """Open it again. The look inside is a visit of its own, and the name is the one of who looked. Once a uid.

    Raises Place.DoesNotExist for one of another building, Refused where it isn't shut or nobody gives a name.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(PlaceChange, building, told.uid, print_):
            return known
        place = Place.objects.within(building).select_related("site", "drum").get(uid=told.place_uid)
        if not place.is_quarantined:
            raise Refused({"place": _("It is open already. Nothing was changed.")})
        if person is None or place.drum is None:
            raise Refused({"place": _("A name is needed for this. Nothing was changed.")})
        look = CareVisit(uuid5(told.uid, "visit"), place.drum.uid, None, False, "", Visit.Trouble.NOTHING)
        visit = add_visit(ledger, look, place.drum, person, via, now, print_)
        row = _change(ledger, place, told.uid, print_, person, via, now, is_shut=False, visit=visit)
        tell_residents(ledger, place.site, now)
    return row


def shut_at_once(
    ledger: Ledger, place: Place, *, uid: UUID, reason: str, person: Person | None, via: str, now: dt.datetime
) -> None:
    """The same in a book that is open, for whoever finds a dangerous thing. One that is shut stays as it is."""
    if not place.is_quarantined:
        _change(ledger, place, uid, fingerprint({"shut": place.uid}), person, via, now, is_shut=True, reason=reason)
        tell_residents(ledger, place.site, now)


def _change(
    ledger: Ledger, place: Place, uid: UUID, print_: str, person: Person | None, via: str, now: dt.datetime,
    *, is_shut: bool, reason: str = "", visit: Visit | None = None,
) -> PlaceChange:  # fmt: skip
    place.is_quarantined = is_shut
    place.save(update_fields=["is_quarantined"])
    row = ledger.add(
        PlaceChange(
            uid=uid,
            fingerprint=print_,
            **asdict(times(now, now)),
            via=via,
            place=place,
            is_shut=is_shut,
            reason=reason,
            visit=visit,
        )
    )
    sign(PlaceChangeAttribution, row, person)
    return row
