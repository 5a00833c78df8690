"""What can be done with a drop-off: record it once, take it back."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from bins.models import Batch, Contribution, ContributionAttribution, Drum
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Building, Household, Person

from .records import Reader

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
    browns_cups: int
    known: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named.

        quarter_pails: 1 to 40, or kilograms: above 0 up to 100; browns_cups: 0 to 40; happened_at: optional.
        """
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        scraps_g = reader.thousandths("kilograms", MOST_SCRAPS_G)
        quarter_pails = reader.whole("quarter_pails", 1, MOST_QUARTER_PAILS)
        if scraps_g is None and quarter_pails is None and not reader.errors:
            reader.errors["quarter_pails"] = _("How much was it? Choose pails or give kilograms.")
        weighed = scraps_g is not None
        found = cls(
            uid=reader.uid(),
            drum_uid=reader.uid("drum"),
            happened_at=None if happened_at == nothing else happened_at,
            quarter_pails=None if weighed else quarter_pails,
            scraps_g=scraps_g,
            browns_cups=reader.whole("browns_cups", 0, MOST_CUPS, 0) or 0,
            known="weighed"
            if weighed
            else reader.choice("known", [Contribution.Known.COUNTED, Contribution.Known.GUESSED], "counted"),
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

    Raises Drum.DoesNotExist for a drum of another building, UidReused for a uid with other values.
    """
    print_ = fingerprint(asdict(told) | {"household": household.uid if household else None, "via": via})
    with open_ledger(building) as ledger:
        if row := already(Contribution, building, told.uid, print_):
            return Recorded(row, is_new=False)
        drum = Drum.objects.within(building).select_related("site").get(uid=told.drum_uid)
        when = times(told.happened_at or now, now)
        site = drum.site
        scraps_ml, scraps_g = _amounts(told, site.pail_ml, site.scraps_g_per_l)
        row = ledger.add(
            Contribution(
                uid=told.uid,
                fingerprint=print_,
                **asdict(when),
                via=via,
                drum=drum,
                # The batch that was filling when it happened, even if it has closed since.
                batch=Batch.objects.within(building).filter(drum=drum).filling_at(when.counts_at).first(),
                quarter_pails=told.quarter_pails,
                browns_cups=told.browns_cups,
                scraps_g=scraps_g,
                scraps_ml=scraps_ml,
                browns_ml=told.browns_cups * site.cup_ml,
                known=told.known,
                pail_ml=site.pail_ml,
                scraps_g_per_l=site.scraps_g_per_l,
                cup_ml=site.cup_ml,
            )
        )
        _attribute(row, household, person)
    return Recorded(row, is_new=True)


def undo_drop_off(
    *, building: Building, row: Contribution, person: Person | None, via: str, now: dt.datetime
) -> Contribution:
    """Reverse a drop-off by a row that takes its amounts back. Doing so twice gives the same row."""
    with open_ledger(building) as ledger:
        if reversal := Contribution.objects.within(building).filter(reverses=row).first():
            return reversal
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
                batch_id=row.batch_id,
                quarter_pails=None if row.quarter_pails is None else -row.quarter_pails,
                browns_cups=-row.browns_cups,
                scraps_g=-row.scraps_g,
                scraps_ml=-row.scraps_ml,
                browns_ml=-row.browns_ml,
                known=row.known,
                pail_ml=row.pail_ml,
                scraps_g_per_l=row.scraps_g_per_l,
                cup_ml=row.cup_ml,
            )
        )
        whose = ContributionAttribution.objects.within(building).filter(row=row).select_related("household").first()
        _attribute(reversal, whose.household if whose else None, person)
    return reversal


def of_household(building: Building, household: Household) -> "QuerySet[Contribution]":
    """A household's own drop-offs that stand, newest first."""
    return (
        Contribution.objects.within(building)
        .filter(attribution__household=household, reverses__isnull=True, reversed_by__isnull=True)
        .select_related("drum")
        .order_by("-counts_at", "-pk")
    )


def _amounts(told: DropOff, pail_ml: int, scraps_g_per_l: int) -> tuple[int, int]:
    """(millilitres, grams) of scraps; what was not seen follows from the site's own density."""
    if told.scraps_g is not None:
        return round(told.scraps_g * 1000 / scraps_g_per_l), told.scraps_g
    millilitres = round((told.quarter_pails or 0) * pail_ml / 4)
    return millilitres, round(millilitres * scraps_g_per_l / 1000)


def _attribute(row: Contribution, household: Household | None, person: Person | None) -> None:
    ContributionAttribution.objects.create(
        building_id=row.building_id, uid=uuid5(row.uid, "attribution"), row=row, household=household, person=person
    )
