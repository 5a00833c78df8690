"""What comes into the store of browns and what is counted there; what all pages say follows."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.models import BrownsStock, BrownsStockAttribution, BrownsStore
from bins.process.stock import MOST_WEEKS
from bins.records import Reader, Refused
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Audit, Building, Household, Person, Site

MOST_ML = 50_000_000
MOST_LITRES = MOST_ML // 1000
Act = BrownsStock.Act


@dataclass(frozen=True)
class Stored:
    """A delivery or a count, as it was told. `fetched_by`: a household's uid; None where it was delivered."""

    uid: UUID
    site_uid: UUID
    act: str
    day: dt.date | None
    kind: str  # empty: what the site has as browns
    millilitres: int
    fetched_by: UUID | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: act (delivery, count), litres above 0 up to 50,000 (a count may be 0). Refused."""
        reader = Reader(raw)
        act = reader.choice("act", [*Act.values])
        is_none = act == Act.COUNT and str(raw.get("litres", "")).strip() in ("0", "0.0")
        millilitres = 0 if is_none else reader.millilitres("litres", MOST_ML)
        if millilitres is None and "litres" not in reader.errors:
            reader.errors["litres"] = reader.in_units(
                _("How many litres are there? A rough number will do."),
                _("How many gallons are there? A rough number will do."),
            )
        told = cls(
            uid=reader.uid(),
            site_uid=reader.uid("site"),
            act=act,
            day=reader.day("day"),
            kind=reader.choice("kind", [*Site.Browns.values]) if raw.get("kind") else "",
            millilitres=millilitres or 0,
            fetched_by=reader.uid("fetched_by") if act == Act.DELIVERY and raw.get("fetched_by") else None,
        )
        reader.finish()
        return told


@dataclass(frozen=True)
class Recorded:
    row: BrownsStock
    is_new: bool


def record_stock(*, building: Building, told: Stored, person: Person | None, via: str, now: dt.datetime) -> Recorded:
    """Add a delivery or a count to the books, once a uid; an empty store is said on all pages, and a full one too.

    Raises Site.DoesNotExist, UidReused, and Refused for a household that isn't here.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(BrownsStock, building, told.uid, print_):
            return Recorded(known, is_new=False)
        site: Site = Site.objects.within(building).get(uid=told.site_uid)
        fetched_by = _household(building, told.fetched_by)
        row = ledger.add(
            BrownsStock(
                uid=told.uid, fingerprint=print_, **asdict(times(_instant(building, told.day, now), now)), via=via,
                site=site, act=told.act, kind=told.kind or site.browns, millilitres=told.millilitres,
            )
        )  # fmt: skip
        _sign(row, fetched_by, person)
        if not _newer(building, row):
            _say(ledger, site, is_out=row.millilitres == 0, person=person, now=now)
    return Recorded(row, is_new=True)


def undo_stock(*, building: Building, uid: UUID, person: Person | None, via: str, now: dt.datetime) -> BrownsStock:
    """Take a delivery or a count back. Doing so twice gives the same row. BrownsStock.DoesNotExist for any other."""
    with open_ledger(building) as ledger:
        row: BrownsStock = BrownsStock.objects.within(building).get(uid=uid, reverses__isnull=True)
        known: BrownsStock | None = BrownsStock.objects.within(building).filter(reverses=row).first()
        if known is not None:
            return known
        reversal = ledger.add(
            BrownsStock(
                uid=uuid5(row.uid, "reversal"), fingerprint=fingerprint({"reverses": row.uid}),
                happened_at=row.happened_at, heard_at=now, counts_at=row.counts_at, doubt=row.doubt, via=via,
                reverses=row, site_id=row.site_id, act=row.act, kind=row.kind, millilitres=-row.millilitres,
            )
        )  # fmt: skip
        _sign(reversal, None, person)
    return reversal


@dataclass(frozen=True)
class Kept:
    """How a site keeps its browns."""

    room: str
    most_litres: int | None
    delivery_weeks: int
    review_weeks: int
    safety_weeks: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """room: closed, aired, outdoors; most_litres: 1 to 50,000, empty for the usual; weeks: 0 to 26. Refused."""
        reader, usual = Reader(raw), BrownsStore()
        weeks = {
            name: reader.whole(name, 0, MOST_WEEKS, getattr(usual, name))
            for name in ("delivery_weeks", "review_weeks", "safety_weeks")
        }
        told = cls(
            room=reader.choice("room", [*BrownsStore.Room.values]),
            most_litres=reader.litres("most_litres", 1, MOST_LITRES),
            **{name: number or 0 for name, number in weeks.items()},
        )
        reader.finish()
        return told


def set_store(
    *, building: Building, site_uid: UUID, told: Kept, person: Person | None, now: dt.datetime
) -> BrownsStore:
    """Keep how the browns of a site lie. Site.DoesNotExist for a site of another building."""
    with open_ledger(building):
        site: Site = Site.objects.within(building).get(uid=site_uid)
        store, _made = BrownsStore.objects.update_or_create(
            building=building, site=site, defaults=asdict(told),
            create_defaults={"uid": uuid5(site.uid, "browns store"), **asdict(told)},
        )  # fmt: skip
        Audit.note(building, person, "browns-store-set", now, site=str(site.uid), **asdict(told))
    return store


def _household(building: Building, uid: UUID | None) -> Household | None:
    if uid is None:
        return None
    found: Household | None = Household.objects.within(building).filter(uid=uid).first()
    if found is None:
        raise Refused({"fetched_by": _("Choose a household from the list, or nobody.")})
    return found


def _instant(building: Building, day: dt.date | None, now: dt.datetime) -> dt.datetime:
    """Now for today, the noon of another day."""
    return now if day is None or day == building.local(now).date() else building.instant(day, dt.time(12))


def _newer(building: Building, row: BrownsStock) -> bool:
    """Whether something was counted or came in after this row: then it says nothing of the present."""
    rows = BrownsStock.objects.within(building).filter(site_id=row.site_id, reverses__isnull=True)
    return bool(rows.filter(reversed_by__isnull=True, counts_at__gt=row.counts_at).exclude(pk=row.pk).exists())


def _say(ledger: Ledger, site: Site, *, is_out: bool, person: Person | None, now: dt.datetime) -> None:
    if (site.browns_out_since is not None) == is_out:
        return
    site.browns_out_since = now if is_out else None
    site.save(update_fields=["browns_out_since"])
    Audit.note(ledger.building, person, "browns-out" if is_out else "browns-back", now, site=str(site.uid))


def _sign(row: BrownsStock, household: Household | None, person: Person | None) -> None:
    BrownsStockAttribution.objects.create(
        building_id=row.building_id, uid=uuid5(row.uid, "attribution"), row=row, household=household, person=person
    )
