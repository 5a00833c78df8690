"""Who shares a site's duties: everybody with a drum there, but those whom whoever plans has left out."""

import datetime as dt
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.records import Refused
from households.ledger import open_ledger
from households.models import Audit, Building, DutyLimits, Household, Person, Site


@dataclass(frozen=True)
class SharersTold:
    """The households that share the duties; every other one of the site is left out."""

    households: frozenset[UUID]

    @classmethod
    def from_raw(cls, raw: Any) -> Self:
        """Read and check a list of uids. Raises Refused for what is none."""
        try:
            if not isinstance(raw, list):
                raise ValueError
            return cls(frozenset(UUID(str(uid)) for uid in raw))
        except ValueError:
            raise Refused({"households": _("Which households? Choose them from the list.")}) from None


def households_of(building: Building, site: Site, on: dt.date) -> list[tuple[Household, bool]]:
    """Each household with a drum at the site that lives here on a day, and whether it shares the duties. One query."""
    homes = (
        Household.objects.within(building)
        .living_on(on)
        .filter(assignment__drum__site=site)
        .select_related("duty_limits")
    )
    return [(home, not (hasattr(home, "duty_limits") and home.duty_limits.stays_out)) for home in homes.order_by("pk")]


def set_sharers(*, building: Building, site: Site, told: SharersTold, person: Person | None, now: dt.datetime) -> None:
    """Say who shares the duties. It counts from the next plan on; nothing is due from those left out.

    Raises Refused for a household that isn't of the site, and where nobody would be left.
    """
    with open_ledger(building):
        known = households_of(building, site, building.local(now).date())
        if not told.households <= {home.uid for home, _shares in known}:
            raise Refused({"households": _("Which households? Choose them from the list.")})
        if not told.households:
            raise Refused({"households": _("Somebody has to share the duties. Choose one household at least.")})
        for home, shares in known:
            if shares != (home.uid in told.households):
                DutyLimits.objects.update_or_create(building=building, household=home, defaults={"stays_out": shares})
        Audit.note(building, person, "duty-sharers-set", now, site=str(site.uid), households=len(told.households))
