"""Sizes of pail: up to three a site, each measured by cups or by water."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.models import Pail
from bins.records import Reader, Refused
from households.ledger import open_ledger
from households.models import Audit, Building, Person, Site

MOST_SIZES = 3
LEAST_ML, MOST_ML = 500, 40_000
MOST_G = 60_000


def first_pail(building: Building, site: Site, now: dt.datetime, millilitres: int) -> Pail:
    """The pail that a new site begins with, at the usual weight per litre."""
    pail: Pail = Pail.objects.create(
        building=building,
        uid=uuid5(site.uid, "pail 1"),
        site=site,
        number=1,
        name=_("kitchen pail"),
        millilitres=millilitres,
        measured_on=building.local(now).date(),
    )
    return pail


def pail_of(building: Building, site: Site, uid: UUID | None) -> Pail:
    """The pail named, or the site's first. Refused for one that does not belong to the site."""
    pails = Pail.objects.within(building).filter(site=site).order_by("number")
    pail: Pail | None = pails.filter(uid=uid).first() if uid else pails.first()
    if pail is None:
        raise Refused({"pail": _("There is no such pail here.")})
    return pail


def pail_range(reader: Reader) -> str:
    """What to say of a pail that can't be."""
    return reader.in_units(
        _("A pail holds from half a litre to forty litres. What does this one hold?"),
        _("A pail holds from a pint to ten gallons. What does this one hold?"),
    )


@dataclass(frozen=True)
class Size:
    """A pail as it was measured: litres told, cups counted, or weighed empty and full of water."""

    uid: UUID
    name: str
    millilitres: int
    measured: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], cup_ml: int) -> Self:
        """Read and check raw values. Raises Refused with every fault named.

        One of: `cups` (whole cups of `cup_ml` that fill it), `empty_kg` and `water_kg` (a litre of water
        weighs a kilo), `litres`. Half a litre to forty.
        """
        reader = Reader(raw)
        uid, name = reader.uid(), reader.words("name", 40, _("What do people call this pail?"))
        cups = reader.whole("cups", 1, 400)
        empty_g, water_g = reader.grams("empty_kg", MOST_G), reader.grams("water_kg", MOST_G)
        litres_ml = reader.millilitres("litres", MOST_ML)
        if water_g is not None:
            if empty_g is None:
                reader.errors.setdefault("empty_kg", _("How much does it weigh empty?"))
            field, millilitres, measured = "water_kg", water_g - (empty_g or 0), Pail.Measured.WATER
        elif cups is not None:
            field, millilitres, measured = "cups", cups * cup_ml, Pail.Measured.CUPS
        else:
            field, millilitres, measured = "litres", litres_ml or 0, Pail.Measured.TOLD
        if not reader.errors and not LEAST_ML <= millilitres <= MOST_ML:
            reader.errors[field] = pail_range(reader)
        reader.finish()
        return cls(uid=uid, name=name, millilitres=millilitres, measured=str(measured))


def add_pail(*, building: Building, site: Site, told: Size, person: Person | None, now: dt.datetime) -> Pail:
    """Add a size to a site; the same uid gives the pail that stands there. Refused for a fourth."""
    with open_ledger(building):
        known: Pail | None = Pail.objects.within(building).filter(uid=told.uid).first()
        if known is not None:
            return known
        taken = set(Pail.objects.within(building).filter(site=site).values_list("number", flat=True))
        number = next((n for n in range(1, MOST_SIZES + 1) if n not in taken), None)
        if number is None:
            raise Refused({"name": _("Three sizes of pail are the most. Nothing was changed.")})
        pail: Pail = Pail.objects.create(
            building=building,
            uid=told.uid,
            site=site,
            number=number,
            name=told.name,
            millilitres=told.millilitres,
            measured=told.measured,
            measured_on=building.local(now).date(),
        )
        Audit.note(building, person, "pail-added", now, pail=str(pail.uid), millilitres=pail.millilitres)
    return pail


def measure_pail(*, building: Building, pail: Pail, told: Size, person: Person | None, now: dt.datetime) -> Pail:
    """Name and measure a pail anew. Drop-offs that stand keep the figures they were counted by."""
    with open_ledger(building):
        before = pail.millilitres
        pail.name, pail.millilitres, pail.measured = told.name, told.millilitres, told.measured
        pail.measured_on = building.local(now).date()
        pail.save(update_fields=["name", "millilitres", "measured", "measured_on"])
        Audit.note(
            building, person, "pail-measured", now, pail=str(pail.uid), before=before, millilitres=pail.millilitres
        )
    return pail
