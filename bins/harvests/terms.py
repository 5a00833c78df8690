"""How a site shares its harvests: said here, in force for each batch that opens from then on."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.harvests.harvest import LEAST_TUB_ML, MOST_TUB_ML
from bins.records import Reader
from households.ledger import open_ledger
from households.models import Audit, Building, Person, Site


@dataclass(frozen=True)
class Terms:
    site_uid: UUID
    sharing_kind: str
    reserve_percent: int
    ceiling_percent: int | None
    least_drop_offs: int
    tub_ml: int
    unclaimed_after_days: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named.

        reserve_percent: 0 to 100; ceiling_percent: 100 to 1000 of an equal share, empty for no limit;
        least_drop_offs: 1 to 50; tub_litres: 1 to 60; unclaimed_after_days: 1 to 60.
        """
        reader = Reader(raw)
        tub_ml = reader.thousandths("tub_litres", MOST_TUB_ML)
        if "tub_litres" not in reader.errors and (tub_ml is None or tub_ml < LEAST_TUB_ML):
            reader.errors["tub_litres"] = _("A tub holds 1 to 60 litres.")
        told = cls(
            site_uid=reader.uid("site"),
            sharing_kind=reader.choice("sharing_kind", [*Site.Sharing.values]),
            reserve_percent=_needed(reader, "reserve_percent", 0, 100),
            ceiling_percent=reader.whole("ceiling_percent", 100, 1000),
            least_drop_offs=_needed(reader, "least_drop_offs", 1, 50),
            tub_ml=tub_ml or 0,
            unclaimed_after_days=_needed(reader, "unclaimed_after_days", 1, 60),
        )
        reader.finish()
        return told


def _needed(reader: Reader, name: str, least: int, most: int) -> int:
    number = reader.whole(name, least, most)
    if number is None and name not in reader.errors:
        reader.errors[name] = _("A whole number from %(least)s to %(most)s is needed.") % {"least": least, "most": most}
    return number or 0


def set_terms(*, building: Building, told: Terms, by: Person | None, now: dt.datetime) -> Site:
    """Set a site's terms. Lots that are open or working keep theirs. Site.DoesNotExist for another building's."""
    with open_ledger(building):
        site: Site = Site.objects.within(building).get(uid=told.site_uid)
        changed = {}
        for name in ("sharing_kind", "reserve_percent", "ceiling_percent", "least_drop_offs", "tub_ml",
                     "unclaimed_after_days"):  # fmt: skip
            if getattr(site, name) != getattr(told, name):
                setattr(site, name, getattr(told, name))
                changed[name] = getattr(told, name)
        if changed:
            site.save(update_fields=list(changed))
            Audit.note(building, by, "sharing-set", now, site=str(site.uid), **changed)
    return site
