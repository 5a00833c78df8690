"""Setting times: adding a slot, changing its hour or its room, ending it."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from bins.slots.moving import move_to, settle_slots
from bins.slots.once import stands
from households.ledger import fingerprint, open_ledger
from households.models import Audit, Booking, Building, Person, Site, Slot
from households.models.booking import STANDS
from households.recurrence import BadRule, cleaned

WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
FURTHEST = dt.timedelta(days=366)  # chosen: a slot that begins later is set up later


@dataclass(frozen=True)
class Hours:
    """When on its days a slot is, and how much room it has; no figures: the drum's own room decides."""

    name: str
    begins_at: dt.time
    minutes: int
    households: int | None
    quarter_pails: int | None
    rests_in_winter: bool

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: begins_at (HH:MM), minutes (5 to 720); name, households (1 to 200), pails (1 to
        200), rests_in_winter optional. Raises Refused with every fault named."""
        reader = Reader(raw)
        told = cls.read(reader)
        reader.finish()
        return told

    @classmethod
    def read(cls, reader: Reader) -> Self:
        text = reader.words("begins_at", 8, _("At what time does it begin?"))
        begins_at = dt.time()
        try:
            begins_at = dt.time.fromisoformat(text) if text else begins_at
        except ValueError:
            reader.errors["begins_at"] = _("A time is needed, such as 18:00.")
        pails = reader.whole("pails", 1, 200)
        return cls(
            name=reader.words("name", 60, ""),
            begins_at=begins_at.replace(second=0, microsecond=0, tzinfo=None),
            minutes=reader.whole("minutes", 5, 720, 60) or 60,
            households=reader.whole("households", 1, 200),
            quarter_pails=None if pails is None else pails * 4,
            rests_in_winter=reader.yes("rests_in_winter"),
        )


@dataclass(frozen=True)
class NewSlot:
    uid: UUID
    rule: str
    starts_on: dt.date | None
    hours: Hours

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `rule`, an RRULE of RFC 5545 without hours, or `weekdays`, some of MO to SU, and
        `every`, each so many weeks; starts_on (a day; today where not told), and the hours.

        Raises Refused with every fault named.
        """
        reader = Reader(raw)
        told = cls(uid=reader.uid(), rule=_rule(reader), starts_on=reader.day("starts_on"), hours=Hours.read(reader))
        reader.finish()
        return told


def add_slot(*, building: Building, site: Site, told: NewSlot, person: Person | None, now: dt.datetime) -> Slot:
    """Set a time, once a uid. Raises UidReused, and Refused for a first day past or over a year ahead."""
    print_ = fingerprint(asdict(told) | {"site": site.uid})
    today = building.local(now).date()
    with open_ledger(building) as ledger:
        if known := stands(Slot, building, told.uid, print_):
            return known
        starts_on = told.starts_on or today
        if not today <= starts_on <= today + FURTHEST:
            raise Refused({"starts_on": _("The first day is today or within a year.")})
        slot: Slot = Slot.objects.create(
            building=ledger.building,
            uid=told.uid,
            site=site,
            rule=told.rule,
            starts_on=starts_on,
            **asdict(told.hours),
            fingerprint=print_,
        )
        if site.opening != Site.Opening.SLOTS:
            site.opening = Site.Opening.SLOTS
            site.save(update_fields=["opening"])
        Audit.note(ledger.building, person, "slot-set", now, slot=str(slot.uid), rule=slot.rule)
    return slot


def change_hours(*, building: Building, slot: Slot, told: Hours, person: Person | None, now: dt.datetime) -> Slot:
    """Change a slot's hour, length or room. Who is booked keeps the place, moves along, and is told once."""
    with open_ledger(building) as ledger:
        found: Slot = Slot.objects.within(building).select_related("site__rules").get(pk=slot.pk)
        values = asdict(told)
        if all(getattr(found, name) == value for name, value in values.items()):
            return found
        for name, value in values.items():
            setattr(found, name, value)
        found.save(update_fields=list(values))
        here = ledger.building
        rows = Booking.objects.within(building).filter(STANDS, slot=found, begins_at__gt=now)
        for row in rows.select_related("slot__site", "household").order_by("begins_at", "pk"):
            begins_at = here.instant(row.occurs_on, found.begins_at)
            ends_at = begins_at + dt.timedelta(minutes=found.minutes)
            if (begins_at, ends_at) != (row.begins_at, row.ends_at):
                move_to(here, row, begins_at, ends_at, now)
        settle_slots(here, now)
        Audit.note(here, person, "slot-changed", now, slot=str(found.uid))
    return found


def end_slot(*, building: Building, slot: Slot, person: Person | None, now: dt.datetime) -> Slot:
    """No further occurrences from tomorrow on: those booked are told. Doing so twice changes nothing."""
    with open_ledger(building) as ledger:
        found: Slot = Slot.objects.within(building).get(pk=slot.pk)
        today = building.local(now).date()
        if found.last_day is None or found.last_day > today:
            found.last_day = today
            found.save(update_fields=["last_day"])
            settle_slots(ledger.building, now)
            Audit.note(ledger.building, person, "slot-ended", now, slot=str(found.uid))
    return found


def _rule(reader: Reader) -> str:
    text = reader.words("rule", 200, "")
    if not text:
        told = reader.raw.get("weekdays") or ()
        chosen = [day for day in WEEKDAYS if day in (told if isinstance(told, list | tuple) else [told])]
        every = reader.whole("every", 1, 52, 1) or 1
        if not chosen:
            reader.errors["weekdays"] = _("On which days?")
            return ""
        text = f"FREQ=WEEKLY;{f'INTERVAL={every};' if every > 1 else ''}BYDAY={','.join(chosen)}"
    try:
        return cleaned(text)
    except BadRule:
        reader.errors["rule"] = _("That is no rule we can read. Such as: FREQ=WEEKLY;BYDAY=TU,SA")
        return ""
