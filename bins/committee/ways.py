"""What a site keeps for its committee, where the committee decides: when scraps are brought, and who decides."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.committee.deciding import About, is_on_committee, write_decision
from bins.records import Reader, Refused
from households.ledger import Ledger, already, fingerprint, open_ledger
from households.models import Audit, Building, CommitteeDecision, Person, Site

# Field of the site -> what a decision about it is about.
KEPT: Final = {"opening": About.OPENING, "decides": About.DECIDES}


@dataclass(frozen=True)
class Ways:
    uid: UUID
    site_uid: UUID
    opening: str
    decides: str
    why: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """`opening` (open, slots), `decides` (caretaker, committee), `why` up to 300 characters. Raises Refused."""
        reader = Reader(raw)
        told = cls(
            uid=reader.uid(),
            site_uid=reader.uid("site"),
            opening=reader.choice("opening", [*Site.Opening.values]),
            decides=reader.choice("decides", [*Site.Decides.values]),
            why=reader.words("why", 300, _("What is the reason?")),
        )
        reader.finish()
        return told


def set_ways(*, building: Building, told: Ways, by: Person | None, via: str, now: dt.datetime) -> Site:
    """Set both by the committee's word; a decision is written for each that changes. Once a uid.

    Raises Refused where the writer isn't on the committee, Site.DoesNotExist, UidReused.
    """
    print_ = fingerprint(asdict(told))
    with open_ledger(building) as ledger:
        site: Site = Site.objects.within(building).get(uid=told.site_uid)
        uids = {name: uuid5(told.uid, name) for name in KEPT}
        if any(already(CommitteeDecision, building, uid, print_) for uid in uids.values()):
            return site
        for name, uid in uids.items():
            value = getattr(told, name)
            if getattr(site, name) != value:
                write_decision(
                    ledger, about=KEPT[name], by=by, via=via, now=now, uid=uid, print_=print_, site=site,
                    why=told.why, figures={name: value},
                )  # fmt: skip
                _write(ledger, site, name, value, by, now)
    return site


def set_kept(ledger: Ledger, site: Site, name: str, value: str, *, by: Person | None, now: dt.datetime) -> None:
    """Set one of them from the set-up: anybody's who runs it, until the committee has kept it to itself.

    Raises Refused where the committee decides and `by` isn't on it.
    """
    if site.decides == Site.Decides.COMMITTEE:
        uid = uuid5(site.uid, f"{name} {ledger.building.ledger_number}")
        try:
            write_decision(
                ledger, about=KEPT[name], by=by, via=CommitteeDecision.Via.WEB, now=now, uid=uid, site=site,
                figures={name: value},
            )  # fmt: skip
        except Refused as refused:
            raise Refused({name: " ".join(refused.errors.values())}) from None
    _write(ledger, site, name, value, by, now)


def refuse_others(building: Building, site: Site, person: Person | None, now: dt.datetime, field: str) -> None:
    """Refused for `field` where the committee decides at a site and `person` isn't on it today."""
    if site.decides == Site.Decides.COMMITTEE and not is_on_committee(building, person, building.local(now).date()):
        raise Refused({field: _("The committee decides this. Nothing was changed: ask somebody who is on it.")})


def _write(ledger: Ledger, site: Site, name: str, value: str, by: Person | None, now: dt.datetime) -> None:
    setattr(site, name, value)
    site.save(update_fields=[name])
    Audit.note(ledger.building, by, "site-arranged", now, site=str(site.uid), **{name: value})
