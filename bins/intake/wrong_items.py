"""Wrong items: what was found in a drum, how much, and whether it is out. Never who brought it.

The same thing at three visits running is no slip any more: one message goes to all residents, with no name. A
dangerous thing shuts the hatch at once.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _
from django.utils.translation import override

from bins.care.fullness import residents
from bins.care.quarantine import shut_at_once
from bins.models import Batch, Drum, Place, Visit, WrongItem, WrongItemAttribution
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Audit, Building, Notice, Person
from households.quiet import due_by_day

Item = WrongItem.Item
DANGEROUS = frozenset({Item.GLASS, Item.NEEDLE, Item.BATTERY, Item.CHEMICALS, Item.WARM_ASH})
RUNNING = 3  # visits with the same thing before everybody is written to
MESSAGE = "wrong-item"
MOST = 100_000  # millilitres or grams: more than a chamber's worth is a slip of the finger


@dataclass(frozen=True)
class Found:
    """A wrong item as it was told."""

    uid: UUID
    drum_uid: UUID
    hatch: str  # A or B; empty: the open one
    visit_uid: UUID | None
    happened_at: dt.datetime | None
    item: str
    millilitres: int | None
    grams: int | None
    taken_out: bool

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values; `millilitres` or `grams` up to 100,000, or neither. Raises Refused."""
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        told = cls(
            uid=reader.uid(),
            drum_uid=reader.uid("drum"),
            hatch=reader.choice("hatch", ["A", "B"]) if raw.get("hatch") else "",
            visit_uid=reader.uid("visit") if raw.get("visit") else None,
            happened_at=None if happened_at == nothing else happened_at,
            item=reader.choice("item", [*Item.values]),
            millilitres=reader.cup_ml("millilitres", 1, MOST),
            grams=reader.whole("grams", 1, MOST),
            taken_out=reader.yes("taken_out"),
        )
        reader.finish()
        return told

    @property
    def is_dangerous(self) -> bool:
        return self.item in DANGEROUS


@dataclass(frozen=True)
class Recorded:
    row: WrongItem
    is_new: bool

    @property
    def is_dangerous(self) -> bool:
        """Whether the hatch is shut for it, even if one piece is out: a shard rarely comes alone."""
        return self.row.item in DANGEROUS


def record_wrong_item(
    *, building: Building, told: Found, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Add what was found to the books, once a uid; shut the hatch or write to residents where that is due.

    Raises Refused for a drum, hatch
    or visit that is not there, UidReused for a uid with other values.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(WrongItem, building, told.uid, print_):
            return Recorded(known, is_new=False)
        drum = Drum.objects.within(building).select_related("site").filter(uid=told.drum_uid).first()
        if drum is None:
            raise Refused({"drum": _("There is no such drum here.")})
        when = times(told.happened_at or now, now)
        place = _place(building, drum, told.hatch)
        row = ledger.add(
            WrongItem(
                uid=told.uid,
                fingerprint=print_,
                **asdict(when),
                via=via,
                drum=drum,
                place=place,
                batch=Batch.objects.within(building).live().filter(place=place).first(),
                visit=_visit(building, drum, told.visit_uid),
                item=told.item,
                millilitres=told.millilitres,
                grams=told.grams,
                taken_out=told.taken_out,
            )
        )
        sign(WrongItemAttribution, row, person)
        if row.visit_id is not None:
            _tell_all(building, drum, told.item, now)
        recorded = Recorded(row, is_new=True)
        if recorded.is_dangerous:
            shut_at_once(
                ledger, place, uid=uuid5(row.uid, "shut"), reason=str(Item(told.item).label), person=person,
                via=via, now=now,
            )  # fmt: skip
    return recorded


def _place(building: Building, drum: Drum, hatch: str) -> Place:
    places = Place.objects.within(building).filter(drum=drum).order_by("letter")
    if hatch:
        place: Place | None = places.filter(letter=hatch).first()
    else:
        place = places.filter(batches__stage="filling").first() or places.first()
    if place is None:
        raise Refused({"hatch": _("Which hatch was it?")})
    return place


def _visit(building: Building, drum: Drum, uid: UUID | None) -> Visit | None:
    if uid is None:
        return None
    visit: Visit | None = Visit.objects.within(building).filter(drum=drum, uid=uid).first()
    if visit is None:
        raise Refused({"visit": _("There is no such visit to this drum.")})
    return visit


def _tell_all(building: Building, drum: Drum, item: str, now: dt.datetime) -> None:
    """Write to the residents where the last visits to the drum all found the same, and nobody did so since."""
    stands = {"reverses__isnull": True, "reversed_by__isnull": True}
    visits = list(Visit.objects.within(building).filter(drum=drum, **stands).order_by("-counts_at", "-pk")[:RUNNING])
    found = set(
        WrongItem.objects.within(building)
        .filter(visit__in=visits, item=item, **stands)
        .values_list("visit_id", flat=True)
    )
    if len(visits) < RUNNING or len(found) < RUNNING:
        return
    # Once a streak: it goes back as far as the visits that found it, and one message since its begin is enough.
    told = Audit.objects.within(building).filter(act=MESSAGE, detail__drum=str(drum.uid), detail__item=item)
    last = told.order_by("-at").values_list("at", flat=True).first()
    if last is not None and not _broken_since(building, drum, item, last):
        return
    due_at = due_by_day(building, now)
    for person in residents(building, drum.site, now):
        assert person.account is not None  # asked for with one
        with override(person.account.language):
            subject, body = _words(drum, item)
        Notice.post(building=building, kind=MESSAGE, to=person.account.email, subject=subject, body=body, due_at=due_at)
    Audit.note(building, None, MESSAGE, now, drum=str(drum.uid), item=item)


def _broken_since(building: Building, drum: Drum, item: str, last: dt.datetime) -> bool:
    """Whether a visit since then did not find it: then this is another streak."""
    clean = Visit.objects.within(building).filter(
        drum=drum, heard_at__gt=last, reverses__isnull=True, reversed_by__isnull=True
    )
    with_it = WrongItem.objects.within(building).filter(
        item=item, visit__drum=drum, reverses__isnull=True, reversed_by__isnull=True
    )
    return bool(clean.exclude(pk__in=with_it.values("visit")).exists())


def _words(drum: Drum, item: str) -> tuple[str, str]:
    values = {"site": drum.site.name, "number": drum.number, "item": Item(item).label}
    return (
        _("%(site)s: please keep one thing out of drum %(number)s") % values,
        _(
            "The last three times somebody looked into drum %(number)s, this was in it:\n\n%(item)s\n\n"
            "It can happen to anybody. It does not turn into compost, and somebody has to pick it out by hand or "
            "the whole lot suffers. The list at the drum says what goes in. Not sure about something? Ask first."
        )
        % values,
    )
