"""Filling holding buckets over days, and emptying them in bulk into the open hatch.

What goes into a bucket is written down by household at once, and counts for no batch yet. The emptying is one row;
with it each of those becomes a drop-off into the batch that is open then, so that whoever sums a batch or shares a
harvest needs to know nothing of buckets. The bedding counts as browns added to the batch.
"""

import datetime as dt
from dataclasses import asdict, dataclass
from uuid import UUID, uuid5

from bins.intake.buckets import for_household, waiting
from bins.intake.dropoff import DropOff, amounts
from bins.mixing.pails import pail_of
from bins.models import (
    Amendment,
    AmendmentAttribution,
    Batch,
    BucketDropOff,
    BucketDropOffAttribution,
    BucketEmptying,
    BucketEmptyingAttribution,
    Contribution,
    ContributionAttribution,
)
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Household, Person


@dataclass(frozen=True)
class Recorded:
    row: BucketDropOff
    is_new: bool


def put_in(
    *, building: Building, bucket_uid: UUID, told: DropOff, household: Household | None, person: Person | None,
    via: str, now: dt.datetime,
) -> Recorded:  # fmt: skip
    """Write down scraps put into a bucket, once a uid. `told.drum_uid` and browns say nothing here.

    One told of after the bucket was emptied counts with that emptying. Raises Bucket.DoesNotExist for a bucket of
    another building or household, UidReused for a uid with other values, Refused for a pail of elsewhere.
    """
    print_ = fingerprint(
        asdict(told) | {"bucket": bucket_uid, "household": household.uid if household else None, "via": via}
    )
    with open_ledger(building) as ledger:
        if known := already(BucketDropOff, building, told.uid, print_):
            return Recorded(known, is_new=False)
        bucket = for_household(building, household).select_related("drum__site").get(uid=bucket_uid)
        pail = pail_of(building, bucket.drum.site, told.pail_uid)
        scraps_ml, scraps_g = amounts(told, pail, 0)
        row = ledger.add(
            BucketDropOff(
                uid=told.uid,
                fingerprint=print_,
                **asdict(times(told.happened_at or now, now)),
                via=via,
                bucket=bucket,
                quarter_pails=told.quarter_pails,
                scraps_g=scraps_g,
                scraps_ml=scraps_ml,
                known=told.known,
                pail=pail,
                pail_ml=pail.millilitres,
                scraps_g_per_l=pail.scraps_g_per_l,
            )
        )
        BucketDropOffAttribution.objects.create(
            building=building, uid=uuid5(row.uid, "attribution"), row=row, household=household, person=person
        )
        after = BucketEmptying.objects.within(building).filter(bucket=bucket, counts_at__gt=row.counts_at)
        emptying = after.order_by("counts_at", "pk").first()
        if emptying is not None:
            _count(ledger, emptying, [row])
    return Recorded(row, is_new=True)


@dataclass(frozen=True)
class Emptied:
    row: BucketEmptying
    is_new: bool


def empty(
    *, building: Building, uid: UUID, bucket_uid: UUID, household: Household | None, person: Person | None,
    via: str, now: dt.datetime,
) -> Emptied:  # fmt: skip
    """Empty a bucket into the open hatch of its drum: all that waits in it counts for that batch from now on.

    Where nothing is open it is written down all the same, for no batch. Raises Bucket.DoesNotExist for a bucket of
    another building or household, UidReused for a uid with other values.
    """
    print_ = fingerprint({"bucket": bucket_uid, "via": via})
    with open_ledger(building) as ledger:
        if known := already(BucketEmptying, building, uid, print_):
            return Emptied(known, is_new=False)
        bucket = for_household(building, household).select_related("drum__site").get(uid=bucket_uid)
        rows = waiting(building, [bucket])[bucket.pk]
        row = ledger.add(
            BucketEmptying(
                uid=uid,
                fingerprint=print_,
                **asdict(times(now, now)),
                via=via,
                bucket=bucket,
                batch=Batch.objects.within(building).filter(drum=bucket.drum).filling_at(now).first(),
                bedding_ml=bucket.bedding_ml,
            )
        )
        sign(BucketEmptyingAttribution, row, person)
        _count(ledger, row, rows)
        if row.batch is not None and row.bedding_ml:
            bedding = ledger.add(
                Amendment(
                    uid=uuid5(uid, "bedding"),
                    fingerprint=print_,
                    **asdict(times(now, now)),
                    via=via,
                    batch=row.batch,
                    material=bucket.bedding,
                    millilitres=row.bedding_ml,
                )
            )
            sign(AmendmentAttribution, bedding, person)
    return Emptied(row, is_new=True)


def _count(ledger: Ledger, emptying: BucketEmptying, rows: list[BucketDropOff]) -> None:
    """The drop-offs that an emptying makes of what waited: same household, same amounts, the time of emptying."""
    drum = emptying.bucket.drum
    for row in rows:
        made = ledger.add(
            Contribution(
                uid=uuid5(row.uid, "emptied"),
                fingerprint=fingerprint({"emptied": row.uid}),
                happened_at=row.happened_at,
                heard_at=emptying.heard_at,
                counts_at=emptying.counts_at,
                doubt=row.doubt,
                via=row.via,
                drum=drum,
                batch=emptying.batch,
                quarter_pails=row.quarter_pails,
                scraps_g=row.scraps_g,
                scraps_ml=row.scraps_ml,
                known=row.known,
                pail=row.pail,
                browns_kind=drum.site.browns,
                pail_ml=row.pail_ml,
                scraps_g_per_l=row.scraps_g_per_l,
                cup_ml=drum.site.cup_ml,
            )
        )
        whose = BucketDropOffAttribution.objects.within(ledger.building).filter(row=row).first()
        ContributionAttribution.objects.create(
            building=ledger.building,
            uid=uuid5(made.uid, "attribution"),
            row=made,
            household_id=whose.household_id if whose else None,
            person_id=whose.person_id if whose else None,
        )
