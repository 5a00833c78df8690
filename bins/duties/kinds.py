"""The duties that a site has: set once, expanded to local days."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.records import Reader
from households.ledger import UidReused, open_ledger
from households.models import Audit, Building, DutyKind, Person, Site
from households.recurrence import LONGEST, BadRule, cleaned, days

WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
# Chosen: what one person's turn at it usually takes, and whether one lifts or pushes.
USUAL_MINUTES: Mapping[str, int] = {"turning": 15, "trays": 10, "browns": 20, "opening": 60}
HEAVY = ("turning", "browns")


def days_of(building: Building, kind: DutyKind, first: dt.date, last: dt.date) -> list[dt.date]:
    """The local days of a duty from `first` to `last`, both counted."""
    wall = kind.begins_at or dt.time()
    return days(kind.rule, starts_on=kind.starts_on, first=first, last=last, zone=building.zone, wall=wall)


@dataclass(frozen=True)
class KindTold:
    """A duty as somebody sets it up. `uid` is the duty's own: a known one is changed."""

    uid: UUID
    work: str
    rule: str
    starts_on: dt.date
    begins_at: dt.time | None
    least: int
    usual: int
    minutes: int
    is_heavy: bool
    is_on: bool

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any], weekdays: Sequence[str], today: dt.date) -> Self:
        """Read and check raw values. Raises Refused with every fault named.

        `weekdays`: as MO to SU; or a `rule` in `raw`, which wins. `begins_at`: HH:MM on the local clock.
        """
        reader = Reader(raw)
        work = reader.choice("work", [*DutyKind.Work.values])
        rule = reader.words("rule", LONGEST, "")
        if not rule and weekdays and set(weekdays) <= set(WEEKDAYS):
            rule = "FREQ=WEEKLY;BYDAY=" + ",".join(day for day in WEEKDAYS if day in weekdays)
        try:
            rule = cleaned(rule)
        except BadRule:
            if rule:
                reader.errors["rule"] = _("That rule can't be read. Such as: FREQ=MONTHLY;BYDAY=1SA.")
            else:
                reader.errors["days"] = _("On which days of the week?")
        begins_at = _time(reader, "begins_at")
        if work == DutyKind.Work.OPENING and begins_at is None:
            reader.errors.setdefault("begins_at", _("When does the opening begin?"))
        least, usual = reader.whole("least", 1, 9, 1) or 1, reader.whole("usual", 1, 9, 2) or 2
        if usual < least:
            reader.errors.setdefault("usual", _("Not fewer than are needed at least."))
        told = cls(
            uid=reader.uid(),
            work=work,
            rule=rule,
            starts_on=reader.day("starts_on") or today,
            begins_at=begins_at,
            least=least,
            usual=usual,
            minutes=reader.whole("minutes", 1, 480) or USUAL_MINUTES.get(work, 15),
            is_heavy=reader.yes("is_heavy") if "is_heavy" in raw else work in HEAVY,
            is_on=reader.yes("is_on") if "is_on" in raw else True,
        )
        reader.finish()
        return told


def _time(reader: Reader, name: str) -> dt.time | None:
    text = str(reader.raw.get(name) or "").strip()
    if not text:
        return None
    try:
        return dt.time.fromisoformat(text).replace(second=0, microsecond=0, tzinfo=None)
    except ValueError:
        reader.errors[name] = _("A time is needed, such as 17:30.")
        return None


def set_kind(*, building: Building, site: Site, told: KindTold, person: Person | None, now: dt.datetime) -> DutyKind:
    """Set up a duty, or change the one of that uid. Duties that are planned already stay as they are.

    Raises UidReused for the uid of another site's duty.
    """
    values = {name: value for name, value in asdict(told).items() if name != "uid"}
    with open_ledger(building):
        kind: DutyKind | None = DutyKind.objects.within(building).filter(uid=told.uid).first()
        if kind is None:
            kind = DutyKind.objects.create(building=building, uid=told.uid, site=site, **values)
        elif kind.site_id != site.pk:
            raise UidReused(told.uid)
        else:
            for name, value in values.items():
                setattr(kind, name, value)
            kind.save(update_fields=list(values))
        Audit.note(building, person, "duty-set", now, kind=str(kind.uid), work=kind.work, is_on=kind.is_on)
    return kind


def kinds_of(building: Building, site: Site) -> list[DutyKind]:
    """Every duty of a site, those that are on first. One query."""
    return list(DutyKind.objects.within(building).filter(site=site).order_by("-is_on", "work", "begins_at", "pk"))
