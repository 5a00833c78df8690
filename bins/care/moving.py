"""A batch moves to another place: an empty hatch, or a curing bin that may be new."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from string import ascii_uppercase
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.care.fullness import tell_residents
from bins.care.movements import write_movement
from bins.models import Batch, Movement, Place
from bins.process.stage import Stage
from bins.records import Reader, Refused
from households.ledger import Ledger, already, fingerprint, open_ledger
from households.models import Building, Person, Site

HATCHES = 2  # the first two letters are marks of hatches; bins go on from there


@dataclass(frozen=True)
class Move:
    """Where a batch was put: a place that stands in the books, or a new bin of so many litres."""

    uid: UUID
    batch_uid: UUID
    place_uid: UUID | None
    bin_litres: int | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `to`, a place's uid or `new`; with `new`, `litres` from 10 to 5000."""
        reader = Reader(raw)
        to, litres = str(raw.get("to") or ""), None
        if to == "new":
            litres = reader.litres("litres", 10, 5000)
            if litres is None and "litres" not in reader.errors:
                reader.errors["litres"] = reader.in_units(
                    _("How many litres does it hold?"), _("How many gallons does it hold?")
                )
        elif not to:
            reader.errors["to"] = _("Where is it now?")
        told = cls(
            uid=reader.uid(),
            batch_uid=reader.uid("batch"),
            place_uid=reader.uid("to") if to not in ("", "new") else None,
            bin_litres=litres,
        )
        reader.finish()
        return told


def move(*, building: Building, told: Move, person: Person | None, via: str, now: dt.datetime) -> Movement:
    """Write down that a batch stands elsewhere now. Once a uid.

    Raises Batch.DoesNotExist or Place.DoesNotExist for those of another building, Refused for a place that is
    taken or shut, or can't hold it.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(Movement, building, told.uid, print_):
            return known
        batch = Batch.objects.within(building).select_related("drum__site", "place").get(uid=told.batch_uid)
        if told.place_uid is None:
            place = _new_bin(ledger, batch.drum.site, told.bin_litres or 0, uuid5(told.uid, "bin"))
        else:
            place = Place.objects.within(building).get(uid=told.place_uid)
        row = put(ledger, batch, place, uid=told.uid, print_=print_, person=person, via=via, now=now)
        tell_residents(ledger, batch.drum.site, now)
    return row


def put(
    ledger: Ledger, batch: Batch, place: Place, *, uid: UUID, print_: str, person: Person | None, via: str,
    now: dt.datetime,
) -> Movement:  # fmt: skip
    """The move itself, in an open book. `batch` comes with its drum and place."""
    if batch.place is None:
        raise Refused({"to": _("This lot is no longer anywhere. Nothing was changed.")})
    if place.site_id != batch.drum.site_id:
        raise Refused({"to": _("That is at another place. Nothing was changed.")})
    if place.is_quarantined:
        raise Refused({"to": _("That one is shut for now. Nothing was changed.")})
    if Batch.objects.within(ledger.building).live().filter(place=place).exists():
        raise Refused({"to": _("There is a lot in it already. Nothing was changed.")})
    if batch.stage == Stage.FILLING and place.drum_id != batch.drum_id:
        raise Refused({"to": _("An open lot stays in its drum. Close it first.")})
    row = write_movement(
        ledger, batch, Movement.Kind.MOVED, uid=uid, print_=print_, person=person, via=via, at=now, to_place=place
    )
    batch.place = place
    batch.save(update_fields=["place"])
    return row


def free_places(building: Building, site: Site) -> list[Place]:
    """Where a batch of the site may be put: not shut, and no batch in it. One query."""
    taken = Batch.objects.within(building).live().values("place")
    return list(
        Place.objects.within(building)
        .filter(site=site, is_quarantined=False)
        .exclude(pk__in=taken)
        .select_related("drum")
        .order_by("drum__number", "letter")
    )


def _new_bin(ledger: Ledger, site: Site, litres: int, uid: UUID) -> Place:
    bins = Place.objects.within(ledger.building).filter(site=site, kind=Place.Kind.CURING_BIN)
    used = set(bins.values_list("letter", flat=True))
    letter = next((one for one in ascii_uppercase[HATCHES:] if one not in used), "Z")
    place: Place = Place.objects.create(
        building=ledger.building, uid=uid, kind=Place.Kind.CURING_BIN, site=site, letter=letter, litres=litres
    )
    return place
