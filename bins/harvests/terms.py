"""How a site shares its harvests: decided by the committee, in force for each batch that opens from then on."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.committee.deciding import About, write_decision
from bins.harvests.measured import LEAST_TUB_ML, MOST_TUB_ML, tub_range
from bins.records import Reader, Refused
from households.ledger import already, fingerprint, open_ledger
from households.models import Audit, Building, CommitteeDecision, Person, Site

MOST_LEAST_TUBS = 50


@dataclass(frozen=True)
class Terms:
    site_uid: UUID
    sharing_kind: str
    reserve_percent: int
    ceiling_percent: int | None
    least_drop_offs: int
    tub_ml: int
    unclaimed_after_days: int
    least_tubs: int
    most_tubs: int | None
    minutes_a_visit: int
    requests_by_weight: bool

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named.

        reserve_percent: 0 to 100; ceiling_percent: 100 to 1000 of an equal share, empty for no limit;
        least_drop_offs: 1 to 50; tub_litres: 1 to 60; unclaimed_after_days: 1 to 60; least_tubs: 0 to 50, none if
        empty; most_tubs: 1 to 1000, empty for no limit; minutes_a_visit: 1 to 240; requests_by_weight: yes or no.
        """
        reader = Reader(raw)
        tub_ml = reader.millilitres("tub_litres", MOST_TUB_ML)
        if "tub_litres" not in reader.errors and (tub_ml is None or tub_ml < LEAST_TUB_ML):
            reader.errors["tub_litres"] = tub_range(reader)
        least, most = reader.whole("least_tubs", 0, MOST_LEAST_TUBS, 0) or 0, reader.whole("most_tubs", 1, 1000)
        if most is not None and most < least:
            reader.errors["most_tubs"] = _("The most for a household can't be under the least.")
        told = cls(
            site_uid=reader.uid("site"),
            sharing_kind=reader.choice("sharing_kind", [*Site.Sharing.values]),
            reserve_percent=_needed(reader, "reserve_percent", 0, 100),
            ceiling_percent=reader.whole("ceiling_percent", 100, 1000),
            least_drop_offs=_needed(reader, "least_drop_offs", 1, 50),
            tub_ml=tub_ml or 0,
            unclaimed_after_days=_needed(reader, "unclaimed_after_days", 1, 60),
            least_tubs=least,
            most_tubs=most,
            minutes_a_visit=reader.whole("minutes_a_visit", 1, 240, 10) or 10,
            requests_by_weight=reader.yes("requests_by_weight"),
        )
        reader.finish()
        return told


@dataclass(frozen=True)
class Decided:
    """That the committee decided it: on which day, why, and under which uid it stands with its other decisions."""

    uid: UUID
    decided_on: dt.date | None
    why: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. `why`: up to 300 characters, needed; decided_on: today, if empty. Refused."""
        reader = Reader(raw)
        told = cls(reader.uid(), reader.day("decided_on"), reader.words("why", 300, _("What is the reason?")))
        reader.finish()
        return told


@dataclass(frozen=True)
class Change:
    """New terms and the decision that sets them, as one form or one request tells both."""

    terms: Terms
    decided: Decided

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values for both. Raises Refused with every fault of either named."""
        read: dict[str, Any] = {}
        errors: dict[str, str] = {}
        for name, record in (("terms", Terms), ("decided", Decided)):
            try:
                read[name] = record.from_raw(raw)
            except Refused as refused:
                errors |= refused.errors
        if errors:
            raise Refused(errors)
        return cls(**read)


def _needed(reader: Reader, name: str, least: int, most: int) -> int:
    number = reader.whole(name, least, most)
    if number is None and name not in reader.errors:
        reader.errors[name] = _("A whole number from %(least)s to %(most)s is needed.") % {"least": least, "most": most}
    return number or 0


NAMES = tuple(field.name for field in fields(Terms) if field.name != "site_uid")


def set_terms(
    *, building: Building, told: Terms, decided: Decided, by: Person | None, via: str, now: dt.datetime
) -> Site:
    """Set a site's terms by a decision of the committee, which is written down with what changed.

    Lots that are open or working keep theirs. The same uid again changes nothing; nor do terms that are in force.
    Raises Site.DoesNotExist for another building's, UidReused, and Refused where `by` isn't on the committee or the
    day can't be.
    """
    print_ = fingerprint(asdict(told) | asdict(decided))
    with open_ledger(building) as ledger:
        site: Site = Site.objects.within(building).get(uid=told.site_uid)
        if already(CommitteeDecision, building, decided.uid, print_):
            return site
        changed = {name: getattr(told, name) for name in NAMES if getattr(site, name) != getattr(told, name)}
        if not changed:
            return site
        about = About.RESERVE if set(changed) == {"reserve_percent"} else About.SHARING
        write_decision(
            ledger, about=about, by=by, via=via, now=now, uid=decided.uid, print_=print_, site=site,
            decided_on=decided.decided_on, why=decided.why, figures=changed,
        )  # fmt: skip
        for name, value in changed.items():
            setattr(site, name, value)
        site.save(update_fields=list(changed))
        Audit.note(building, by, "sharing-set", now, site=str(site.uid), **changed)
    return site
