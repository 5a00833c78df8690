"""What can be done with a drop-off: record it once, take it back."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from bins.intake.wrong_hatch import where_it_went
from bins.mixing.pails import pail_of
from bins.models import Batch, Contribution, ContributionAttribution, Drum, Pail, Place
from bins.records import Reader
from households.ledger import Ledger, Times, already, fingerprint, open_ledger, times
from households.models import Building, Household, Person

MOST_QUARTER_PAILS = 40  # ten pails: a bulk holding bucket; more is a slip of the finger
MOST_CUPS = 40
MOST_SCRAPS_G = 100_000


@dataclass(frozen=True)
class DropOff:
    """One drop-off as it was told: either weighed (`scraps_g`) or counted or guessed (`quarter_pails`)."""

    uid: UUID
    drum_uid: UUID
    happened_at: dt.datetime | None
    quarter_pails: int | None
    scraps_g: int | None
    browns_half_cups: int
    known: str
    pail_uid: UUID | None = None  # the site's first, where none is named
    browns_in_pail: bool = False
    place_uid: UUID | None = None  # the hatch it went into; the open one, where none is named

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named.

        quarter_pails: 1 to 40, or kilograms: above 0 up to 100; browns_cups: 0 to 40 with halves;
        happened_at, pail (uid), browns_in_pail: optional.
        """
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        scraps_g = reader.grams("kilograms", MOST_SCRAPS_G)
        quarter_pails = reader.whole("quarter_pails", 1, MOST_QUARTER_PAILS)
        if scraps_g is None and quarter_pails is None and not reader.errors:
            reader.errors["quarter_pails"] = reader.in_units(
                _("How much was it? Choose pails or give kilograms."),
                _("How much was it? Choose pails or give pounds."),
            )
        weighed = scraps_g is not None
        found = cls(
            uid=reader.uid(),
            drum_uid=reader.uid("drum"),
            happened_at=None if happened_at == nothing else happened_at,
            quarter_pails=None if weighed else quarter_pails,
            scraps_g=scraps_g,
            browns_half_cups=reader.halves("browns_cups", MOST_CUPS),
            known="weighed"
            if weighed
            else reader.choice("known", [Contribution.Known.COUNTED, Contribution.Known.GUESSED], "counted"),
            pail_uid=reader.uid("pail") if raw.get("pail") else None,
            browns_in_pail=not weighed and reader.yes("browns_in_pail"),
            place_uid=reader.uid("place") if raw.get("place") else None,
        )
        reader.finish()
        return found


@dataclass(frozen=True)
class Recorded:
    row: Contribution
    is_new: bool


def record_drop_off(
    *, building: Building, told: DropOff, household: Household | None, person: Person | None, via: str,
    now: dt.datetime,
) -> Recorded:  # fmt: skip
    """Add one drop-off to the books; the same uid with the same values gives the row that stands there.

    Raises Drum.DoesNotExist for a drum of another building, UidReused for a uid with other values, Refused
    for a pail that is not of the drum's site or a hatch that is not the drum's.
    """
    print_ = fingerprint(asdict(told) | {"household": household.uid if household else None, "via": via})
    with open_ledger(building) as ledger:
        if known := already(Contribution, building, told.uid, print_):
            return Recorded(known, is_new=False)
        when = times(told.happened_at or now, now)
        row = add_drop_off(ledger, told, household=household, person=person, via=via, when=when, print_=print_)
    return Recorded(row, is_new=True)


def add_drop_off(
    ledger: Ledger, told: DropOff, *, household: Household | None, person: Person | None, via: str, when: Times,
    print_: str,
) -> Contribution:  # fmt: skip
    """The row of a drop-off that is new, and whose it is, in an open book."""
    building = ledger.building
    drum = Drum.objects.within(building).select_related("site").get(uid=told.drum_uid)
    pail = pail_of(building, drum.site, told.pail_uid)
    # The batch that was filling when it happened, even if it has closed since; or the one in the hatch named.
    batch, place = where_it_went(building, drum, told.place_uid, when.counts_at)
    row = ledger.add(
        contribution(told, drum=drum, pail=pail, batch=batch, place=place, when=when, via=via, print_=print_)
    )
    ContributionAttribution.objects.create(**whose(row, household, person))
    return row


def contribution(
    told: DropOff, *, drum: Drum, pail: Pail, batch: Batch | None, place: Place | None, when: Times, via: str,
    print_: str,
) -> Contribution:  # fmt: skip
    """A row not yet saved, with the conversion that it is counted by."""
    site = drum.site
    browns_ml = told.browns_half_cups * site.cup_ml // 2
    scraps_ml, scraps_g = amounts(told, pail, browns_ml)
    return Contribution(
        uid=told.uid,
        fingerprint=print_,
        **asdict(when),
        via=via,
        drum=drum,
        batch=batch,
        place=place,
        quarter_pails=told.quarter_pails,
        browns_half_cups=told.browns_half_cups,
        browns_in_pail=told.browns_in_pail,
        scraps_g=scraps_g,
        scraps_ml=scraps_ml,
        browns_ml=browns_ml,
        known=told.known,
        pail=pail,
        browns_kind=site.browns,
        pail_ml=pail.millilitres,
        scraps_g_per_l=pail.scraps_g_per_l,
        cup_ml=site.cup_ml,
    )


def undo_drop_off(
    *, building: Building, row: Contribution, person: Person | None, via: str, now: dt.datetime
) -> Contribution:
    """Reverse a drop-off by a row that takes its amounts back. Doing so twice gives the same row."""
    with open_ledger(building) as ledger:
        return reverse(ledger, row, person=person, via=via, now=now)


def reverse(ledger: Ledger, row: Contribution, *, person: Person | None, via: str, now: dt.datetime) -> Contribution:
    """The row that takes a drop-off back, in an open book: the one that stands, or a new one."""
    building = ledger.building
    known: Contribution | None = Contribution.objects.within(building).filter(reverses=row).first()
    if known is not None:
        return known
    reversal = ledger.add(
        Contribution(
            uid=uuid5(row.uid, "reversal"),
            fingerprint=fingerprint({"reverses": row.uid}),
            happened_at=row.happened_at,
            heard_at=now,
            counts_at=row.counts_at,
            doubt=row.doubt,
            via=via,
            reverses=row,
            drum_id=row.drum_id,
            place_id=row.place_id,
            batch_id=row.batch_id,
            quarter_pails=None if row.quarter_pails is None else -row.quarter_pails,
            browns_half_cups=-row.browns_half_cups,
            browns_in_pail=row.browns_in_pail,
            scraps_g=-row.scraps_g,
            scraps_ml=-row.scraps_ml,
            browns_ml=-row.browns_ml,
            known=row.known,
            pail_id=row.pail_id,
            browns_kind=row.browns_kind,
            pail_ml=row.pail_ml,
            scraps_g_per_l=row.scraps_g_per_l,
            cup_ml=row.cup_ml,
        )
    )
    theirs = ContributionAttribution.objects.within(building).filter(row=row).select_related("household").first()
    ContributionAttribution.objects.create(**whose(reversal, theirs.household if theirs else None, person))
    return reversal


def of_household(building: Building, household: Household) -> "QuerySet[Contribution]":
    """A household's own drop-offs that stand, newest first."""
    return (
        Contribution.objects.within(building)
        .filter(attribution__household=household, reverses__isnull=True, reversed_by__isnull=True)
        .select_related("drum")
        .order_by("-counts_at", "-pk")
    )


def amounts(told: DropOff, pail: Pail, browns_ml: int) -> tuple[int, int]:
    """(millilitres, grams) of scraps; what was not seen follows from the pail's own density."""
    if told.scraps_g is not None:
        return round(told.scraps_g * 1000 / pail.scraps_g_per_l), told.scraps_g
    millilitres = round((told.quarter_pails or 0) * pail.millilitres / 4)
    if told.browns_in_pail:
        millilitres = max(0, millilitres - browns_ml)
    return millilitres, round(millilitres * pail.scraps_g_per_l / 1000)


def whose(row: Contribution, household: Household | None, person: Person | None) -> dict[str, Any]:
    """The values of the second row: whose a drop-off is, and who wrote it down."""
    return {
        "building_id": row.building_id,
        "uid": uuid5(row.uid, "attribution"),
        "row": row,
        "household": household,
        "person": person,
    }
