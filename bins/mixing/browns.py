"""Browns: the site's one number of cups for a full pail, and what it rests on.

The number answers for the pail in the hand. It moves at most once a month, by somebody's yes, so that the sign
stays true; what it leaves over in a drum is a task of the care visit (mixing.py).
"""

import calendar
import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Self
from uuid import UUID

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from bins.models import Pail
from bins.process.amendment import NotAchievable
from bins.process.browns import SignNumber, cups_per_pail
from bins.process.material import Material
from bins.process.materials import BROWNS_BY_CODE, KITCHEN_SCRAPS
from bins.records import Reader, Refused
from households.ledger import open_ledger
from households.models import Audit, Building, Person, Site


def scraps_of(pail: Pail) -> Material:
    """Kitchen scraps at the weight per litre that this pail was found to have."""
    return replace(KITCHEN_SCRAPS, kg_per_litre=pail.scraps_g_per_l / 1000)


@dataclass(frozen=True)
class Advice:
    """What the mix room says of a site, beside the number in force."""

    site: Site
    pail: Pail
    says: SignNumber | NotAchievable
    changes_from: dt.date  # the first day on which the number may change

    @property
    def half_cups(self) -> int | None:
        """The number advised, in half cups; None where no amount does it."""
        return self.says.half_cups if isinstance(self.says, SignNumber) else None

    @property
    def differs(self) -> bool:
        return self.half_cups is not None and self.half_cups != self.site.half_cups_per_pail


def advise(building: Building) -> tuple[Advice, ...]:
    """The advice for each site, by name, for its first pail; two queries however many sites there are."""
    first: dict[int, Pail] = {}
    for pail in Pail.objects.within(building).order_by("number"):
        first.setdefault(pail.site_id, pail)
    sites = Site.objects.within(building).order_by("name", "pk")
    return tuple(_advice(site, first[site.pk]) for site in sites if site.pk in first)


def _advice(site: Site, pail: Pail) -> Advice:
    says = cups_per_pail(pail.millilitres / 1000, scraps_of(pail), BROWNS_BY_CODE[site.browns], site.cup_ml / 1000)
    last = site.cups_changed_on
    return Advice(site, pail, says, month_after(last) if last else dt.date.min)


def month_after(day: dt.date) -> dt.date:
    """The same day of the next month, or its last day where that is shorter."""
    year, month = day.year + day.month // 12, day.month % 12 + 1
    return dt.date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def accept_number(
    *, building: Building, site_uid: UUID, half_cups: int, person: Person | None, now: dt.datetime
) -> Site:
    """The caretaker's yes to the number advised. Saying yes to the number in force changes nothing.

    Refused where the advice says another number by now, or the number changed less than a month ago.
    Site.DoesNotExist for a site of another building.
    """
    with open_ledger(building):
        site: Site = Site.objects.within(building).get(uid=site_uid)
        if site.half_cups_per_pail == half_cups:
            return site
        advice = _advice(site, Pail.objects.within(building).filter(site=site).order_by("number")[0])
        today = building.local(now).date()
        if advice.half_cups != half_cups:
            raise Refused({"half_cups": _("The advice is another one by now. Nothing was changed; please look again.")})
        if today < advice.changes_from:
            raise Refused(
                {
                    "half_cups": _(
                        "The number changed on %(last)s, and people are still learning it. "
                        "It can change again from %(next)s. Nothing was changed."
                    )
                    % {
                        "last": date_format(site.cups_changed_on or today),
                        "next": date_format(advice.changes_from),
                    }
                }
            )
        before, site.half_cups_per_pail, site.cups_changed_on = site.half_cups_per_pail, half_cups, today
        site.save(update_fields=["half_cups_per_pail", "cups_changed_on"])
        Audit.note(building, person, "cups-changed", now, site=str(site.uid), before=before, half_cups=half_cups)
    return site


@dataclass(frozen=True)
class BrownsTold:
    """What a site has as browns, by which cup they are counted, and what is said when there are none."""

    browns: str
    cup_ml: int
    without_browns: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values; cup_ml from 50 to 5,000. Raises Refused with every fault named."""
        reader = Reader(raw)
        cup_ml = reader.cup_ml("cup_ml", 50, 5000)
        if cup_ml is None and "cup_ml" not in reader.errors:
            reader.errors["cup_ml"] = reader.in_units(
                _("How many millilitres does the cup hold?"), _("How many fluid ounces does the cup hold?")
            )
        told = cls(
            browns=reader.choice("browns", [*Site.Browns.values]),
            cup_ml=cup_ml or 0,
            without_browns=reader.choice("without_browns", [*Site.WithoutBrowns.values], str(Site.WithoutBrowns.BRING)),
        )
        reader.finish()
        return told


def tell_browns(
    *, building: Building, site_uid: UUID, told: BrownsTold, person: Person | None, now: dt.datetime
) -> Site:
    """Keep what a site has as browns. The number on the sign stays until somebody says yes to another."""
    with open_ledger(building):
        site: Site = Site.objects.within(building).get(uid=site_uid)
        site.browns, site.cup_ml, site.without_browns = told.browns, told.cup_ml, told.without_browns
        site.save(update_fields=["browns", "cup_ml", "without_browns"])
        Audit.note(building, person, "browns-told", now, site=str(site.uid), **asdict(told))
    return site


def tell_stock(*, building: Building, site_uid: UUID, is_out: bool, person: Person | None, now: dt.datetime) -> Site:
    """Say that a site has no browns left, or that there are some again. Saying it twice changes nothing."""
    with open_ledger(building):
        site: Site = Site.objects.within(building).get(uid=site_uid)
        if (site.browns_out_since is not None) == is_out:
            return site
        site.browns_out_since = now if is_out else None
        site.save(update_fields=["browns_out_since"])
        Audit.note(building, person, "browns-out" if is_out else "browns-back", now, site=str(site.uid))
    return site
