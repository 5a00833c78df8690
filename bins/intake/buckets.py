"""Holding buckets: bedding below, scraps above. Which there are, what waits in them, and whether the mix is right."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.db.models import Q
from django.utils.translation import gettext as _

from bins.models import Bucket, BucketDropOff, BucketEmptying, Drum
from bins.process.density import HoldingBucket, holding_bucket
from bins.process.materials import BROWNS_BY_CODE, KITCHEN_SCRAPS
from bins.process.mix import MOISTURE_BEST, Portion
from bins.records import Reader, Refused
from households.ledger import open_ledger
from households.models import Building, Household, Site

FULL_PERCENT = 90  # chosen: from here on the mix is what it will be when it is emptied


@dataclass(frozen=True)
class BucketTold:
    """A bucket as it is to be kept: whose, how big, and how much bedding goes below."""

    uid: UUID
    name: str
    drum_uid: UUID
    household: str  # label; empty for one in the cellar
    millilitres: int
    bedding: str
    bedding_ml: int

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `litres` 3 to 240, `bedding_litres` less than that. Raises Refused."""
        reader = Reader(raw)
        millilitres = reader.millilitres("litres", 240_000)
        bedding_ml = reader.millilitres("bedding_litres", 240_000)
        if (millilitres is None or millilitres < 3000) and "litres" not in reader.errors:
            reader.errors["litres"] = reader.in_units(
                _("A holding bucket holds from 3 to 240 litres. What does this one hold?"),
                _("A holding bucket holds from 1 to 63 gallons. What does this one hold?"),
            )
        if bedding_ml is None:
            asked = reader.in_units(
                _("How many litres of bedding go in first?"), _("How many gallons of bedding go in first?")
            )
            reader.errors.setdefault("bedding_litres", asked)
        elif millilitres and bedding_ml >= millilitres:
            reader.errors["bedding_litres"] = _("The bedding must leave room for scraps.")
        told = cls(
            uid=reader.uid(),
            name=reader.words("name", 40, _("What do people call this bucket?")),
            drum_uid=reader.uid("drum"),
            household=reader.words("household", 60, ""),
            millilitres=millilitres or 0,
            bedding=reader.choice("bedding", [*Site.Browns.values], str(Site.Browns.PELLETS)),
            bedding_ml=bedding_ml or 0,
        )
        reader.finish()
        return told


def add_bucket(*, building: Building, told: BucketTold, now: dt.datetime) -> Bucket:
    """Keep a new bucket; the same uid gives the one that stands there.

    Refused for a drum or household that is not here.
    """
    with open_ledger(building):
        known: Bucket | None = Bucket.objects.within(building).filter(uid=told.uid).first()
        if known is not None:
            return known
        drum = Drum.objects.within(building).filter(uid=told.drum_uid).first()
        if drum is None:
            raise Refused({"drum": _("There is no such drum here.")})
        household = None
        if told.household:
            household = Household.objects.within(building).filter(label=told.household, left_on=None).first()
            if household is None:
                raise Refused({"household": _("No household of that name lives here.")})
        bucket: Bucket = Bucket.objects.create(
            building=building,
            uid=told.uid,
            drum=drum,
            household=household,
            name=told.name,
            millilitres=told.millilitres,
            bedding=told.bedding,
            bedding_ml=told.bedding_ml,
            added_on=building.local(now).date(),
        )
    return bucket


def for_household(building: Building, household: Household | None) -> Any:
    """The buckets that a household may fill and empty: its own, and those in the cellar."""
    own = Q(household__isnull=True) if household is None else Q(household__isnull=True) | Q(household=household)
    return Bucket.objects.within(building).filter(own)


def waiting(building: Building, buckets: Iterable[Bucket]) -> dict[int, list[BucketDropOff]]:
    """What stands in each bucket since it was emptied last, oldest first; two queries however many there are."""
    found: dict[int, list[BucketDropOff]] = {bucket.pk: [] for bucket in buckets}
    emptied: defaultdict[int, int] = defaultdict(int)
    for row in BucketEmptying.objects.within(building).filter(bucket__in=found).order_by("ledger_number"):
        emptied[row.bucket_id] = row.ledger_number
    rows = BucketDropOff.objects.within(building).filter(
        bucket__in=found, reverses__isnull=True, reversed_by__isnull=True
    )
    for drop_off in rows.select_related("pail").order_by("ledger_number"):
        if drop_off.ledger_number > emptied[drop_off.bucket_id]:
            found[drop_off.bucket_id].append(drop_off)
    return found


@dataclass(frozen=True)
class BucketState:
    """A bucket with what waits in it, and the mix that bedding and scraps make (None while it is empty)."""

    bucket: Bucket
    scraps_g: int
    scraps_ml: int
    drop_offs: int
    mix: HoldingBucket | None

    @property
    def percent(self) -> int:
        """How full it is, loosely filled: 0 to 100."""
        return min(100, round(100 * (self.scraps_ml + self.bucket.bedding_ml) / self.bucket.millilitres))

    @property
    def advice(self) -> str:
        """`more` bedding, `less`, or empty where it is right or nothing is in it yet.

        Judged by moisture alone: most of the bedding's carbon is wood that hardly takes part.
        """
        if self.mix is None or MOISTURE_BEST.holds(self.mix.moisture):
            return ""
        if self.mix.moisture > MOISTURE_BEST.high:
            return "more"
        return "less" if self.percent >= FULL_PERCENT else ""  # half empty, it is all bedding still


def states(building: Building, buckets: Iterable[Bucket]) -> tuple[BucketState, ...]:
    """Each bucket as it stands."""
    listed = list(buckets)
    inside = waiting(building, listed)
    return tuple(_state(bucket, inside[bucket.pk]) for bucket in listed)


def _state(bucket: Bucket, rows: list[BucketDropOff]) -> BucketState:
    grams, millilitres = sum(row.scraps_g for row in rows), sum(row.scraps_ml for row in rows)
    mix = None
    if grams:
        bedding = Portion.of_litres(BROWNS_BY_CODE[bucket.bedding], bucket.bedding_ml / 1000)
        mix = holding_bucket(bedding, Portion(KITCHEN_SCRAPS, grams / 1000))
    return BucketState(bucket, grams, millilitres, len(rows), mix)
