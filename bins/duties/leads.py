"""Two leads for a site, their days away, a stand-in with a first and a last day, and what it needs to know."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from households.ledger import open_ledger
from households.models import Audit, Building, Handover, Lead, LeadAway, Person, Role, Site, StandIn

from . import nightly
from .attending import look


@dataclass(frozen=True)
class DaysTold:
    """Somebody's first and last day: a lead away, or a stand-in. Both count."""

    uid: UUID
    person_uid: UUID
    first: dt.date
    last: dt.date

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], today: dt.date) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        first, last = reader.day("first"), reader.day("last")
        if first is None:
            reader.errors.setdefault("first", _("What is the first day?"))
        if last is None or last < (first or last) or last < today:
            reader.errors.setdefault("last", _("What is the last day? Not before the first, and not past."))
        told = cls(reader.uid(), reader.uid("person"), first or today, last or today)
        reader.finish()
        return told


@dataclass(frozen=True)
class HandoverTold:
    keys: str
    gloves: str
    cut_off: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named."""
        reader = Reader(raw)
        told = cls(*(reader.words(name, 300, "") for name in ("keys", "gloves", "cut_off")))
        reader.finish()
        return told


def set_leads(
    *, building: Building, site: Site, people: tuple[UUID, ...], person: Person | None, now: dt.datetime
) -> None:
    """Say who leads a site: two at most, each somebody who looks after the place today. Raises Refused."""
    today = building.local(now).date()
    with open_ledger(building):
        held = Role.objects.within(building).filter(kind=Role.Kind.CARETAKER).held_on(today)
        known = {one.uid: one for one in Person.objects.within(building).filter(pk__in=held.values("person"))}
        if len(set(people)) != len(people) or len(people) > 2 or not set(people) <= set(known):
            raise Refused({"leads": _("Choose one or two people who look after the place.")})
        rows = Lead.objects.within(building).filter(site=site)
        rows.exclude(person__uid__in=people).delete()
        stays = {row.person.uid: row.number for row in rows.select_related("person")}
        free = [number for number in (1, 2) if number not in stays.values()]
        for uid in people:
            if uid not in stays:
                Lead.objects.create(
                    building=building,
                    uid=uuid5(site.uid, f"lead {uid}"),
                    site=site,
                    number=free.pop(0),
                    person=known[uid],
                )
        Audit.note(building, person, "leads-set", now, site=str(site.uid), leads=len(people))
        nightly.promise(building, today + dt.timedelta(days=1))
        look(building, now)


def lead_away(*, building: Building, site: Site, told: DaysTold, now: dt.datetime) -> None:
    """A lead is away; no reason is asked. Once a uid. Raises Refused for somebody who doesn't lead the site."""
    with open_ledger(building):
        lead = Lead.objects.within(building).filter(site=site, person__uid=told.person_uid).first()
        if lead is None:
            raise Refused({"person": _("That person does not lead this place.")})
        LeadAway.objects.get_or_create(
            building=building,
            uid=told.uid,
            defaults={"lead": lead, "first_on": told.first, "last_on": told.last},
        )
        look(building, now)


def stand_in(*, building: Building, site: Site, told: DaysTold, person: Person | None, now: dt.datetime) -> None:
    """Somebody stands in from a day to a day and may do what a caretaker may, just as long. Once a uid.

    Raises Refused for somebody who doesn't belong here.
    """
    with open_ledger(building):
        somebody = Person.objects.within(building).filter(uid=told.person_uid).first()
        if somebody is None:
            raise Refused({"person": _("Who stands in?")})
        _row, is_new = StandIn.objects.get_or_create(
            building=building,
            uid=told.uid,
            defaults={"site": site, "person": somebody, "first_on": told.first, "last_on": told.last},
        )
        if is_new:
            Role.objects.get_or_create(
                building=building,
                person=somebody,
                kind=Role.Kind.CARETAKER,
                starts_on=told.first,
                defaults={"ends_on": told.last, "uid": uuid5(told.uid, "role")},
            )
            Audit.note(building, person, "stand-in", now, whom=str(somebody.uid), first=told.first.isoformat())
        look(building, now)


def let_go(*, building: Building, site: Site, uid: UUID, person: Person | None, now: dt.datetime) -> None:
    """Take back a lead's days away or a stand-in, with the role that it brought. Twice changes nothing."""
    with open_ledger(building):
        LeadAway.objects.within(building).filter(lead__site=site, uid=uid).delete()
        gone, _each = StandIn.objects.within(building).filter(site=site, uid=uid).delete()
        if gone:
            Role.objects.within(building).filter(uid=uuid5(uid, "role")).delete()
            Audit.note(building, person, "stand-in-ended", now, stand_in=str(uid))
        look(building, now)


def set_handover(
    *, building: Building, site: Site, told: HandoverTold, person: Person | None, now: dt.datetime
) -> None:
    """Keep what a stand-in needs to know."""
    with open_ledger(building):
        values = {"keys": told.keys, "gloves": told.gloves, "cut_off": told.cut_off}
        Handover.objects.update_or_create(
            building=building, site=site, defaults={**values, "uid": uuid5(site.uid, "handover")}
        )
        Audit.note(building, person, "handover-set", now, site=str(site.uid))
