"""Moving out on one page: the last day, the share that still waits, and then nothing that says who it was."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.db.models import Sum
from django.utils.translation import gettext as _

from bins.duties import doing
from bins.harvests.balance import balances
from bins.harvests.took_part import credits
from bins.models import (
    Assignment,
    Batch,
    BucketDropOffAttribution,
    Contribution,
    ContributionAttribution,
    Harvest,
    Outgoing,
    OutgoingAttribution,
    Share,
    ShareAttribution,
    ShareRequestAttribution,
)
from bins.models.batch import LIVE
from bins.models.harvest import TUB
from bins.people import tidy
from bins.records import Reader, Refused
from bins.signature import sign
from bins.slots.forgetting import cancel_after
from households import leaving
from households.ledger import Ledger, UidReused, fingerprint, open_ledger, times
from households.models import Audit, Building, Departure, Household, Person, Site

EARLIEST = dt.timedelta(days=60)  # chosen: as far back as a told day is believed
LATEST = dt.timedelta(days=90)  # chosen: a notice period
OF_AMOUNTS = frozenset({
    ContributionAttribution, BucketDropOffAttribution, ShareAttribution, ShareRequestAttribution,
    OutgoingAttribution,
})  # fmt: skip


@dataclass(frozen=True)
class Leaving:
    """The word of a household that moves out. An empty `share`: nothing waits for it."""

    uid: UUID
    last_day: dt.date
    share: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `sure` must be yes, since names cannot be brought back."""
        reader = Reader(raw)
        last_day = reader.day("last_day")
        if last_day is None and "last_day" not in reader.errors:
            reader.errors["last_day"] = _("Which is the last day?")
        if not reader.yes("sure") and "sure" not in reader.errors:
            reader.errors["sure"] = _("Please say that you are sure: names cannot be brought back.")
        told = cls(
            uid=reader.uid(),
            last_day=last_day or dt.date.min,
            share=reader.choice("share", [*Departure.Share.values]) if raw.get("share") else "",
        )
        reader.finish()
        return told


@dataclass(frozen=True)
class Claims:
    """What a household could still come back for."""

    waiting: tuple[tuple[Share, int], ...]  # final shares, with millionths of a tub not yet fetched and there
    brought_to: int  # lots that it brought scraps to and that are not shared out yet

    def __bool__(self) -> bool:
        return bool(self.waiting or self.brought_to)

    @property
    def millionths(self) -> int:
        return sum(amount for _share, amount in self.waiting)


def claims(building: Building, household: Household) -> Claims:
    """What waits for a household, and what may yet come out of what it brought."""
    shares = (
        Share.objects.within(building)
        .filter(attribution__household=household, tubs__gt=0)
        .select_related("split__harvest__batch__drum__site")
        .annotate(went=Sum("outgoings__millionths"))
        .order_by("ledger_number")
    )
    owed = [(share, share.tubs * TUB - (share.went or 0)) for share in shares]
    standing = balances(building, {share.split.harvest for share, amount in owed if amount > 0})
    waiting = []
    for share, amount in owed:
        there = min(amount, standing[share.split.harvest_id].waiting) if amount > 0 else 0
        if there > 0:
            waiting.append((share, there))
    return Claims(tuple(waiting), len(_unshared(building, household)))


def move_out(
    *, building: Building, household: Household, told: Leaving, person: Person | None, via: str, now: dt.datetime
) -> Departure:
    """Set a household's last day, once; what can be ended and forgotten by now is, the rest by a later night.

    With "garden" what waits goes to the beds at once, and nothing is remembered past the last day. With
    "pick_up" the people are remembered until nothing waits for them any more. Where nothing waits and nothing was
    said, a household to which something is owed keeps that until its last day is over. Raises UidReused, and
    Refused for a day out of range or where something waits and nothing was said of it.
    """
    print_ = fingerprint(asdict(told) | {"household": household.uid})
    with open_ledger(building) as ledger:
        known: Departure | None = Departure.objects.within(building).filter(household=household).first()
        if known is not None:
            if known.uid == told.uid and known.fingerprint != print_:
                raise UidReused(told.uid)
            return known
        household = Household.objects.within(building).get(pk=household.pk)
        today = building.local(now).date()
        if not max(household.joined_on, today - EARLIEST) <= told.last_day <= today + LATEST:
            raise Refused({"last_day": _("That day is too far away, or before the household came.")})
        open_claims = claims(building, household)
        if open_claims and not told.share:
            raise Refused({"share": _("Do you come and fetch your share, or does it go to the beds?")})
        leaving.end_stay(building, household, told.last_day)
        cancel_after(building, household.pk, told.last_day, now)
        doing.give_back(building, household, told.last_day, now)
        departure = Departure.objects.create(
            building=building,
            uid=told.uid,
            household=household,
            last_day=told.last_day,
            share=told.share or _unsaid(building, household, told.last_day, today),
            made_at=now,
            fingerprint=print_,
        )
        if departure.share == Departure.Share.GARDEN:
            _to_the_beds(ledger, household, open_claims, told.uid, person, via, now)
        Audit.note(building, person, "household-left", now, household=str(household.uid))
        if not settle(building, departure, by=person, now=now):
            tidy.promise(building, max(today, told.last_day) + dt.timedelta(days=1))
    return departure


def _unsaid(building: Building, household: Household, last_day: dt.date, today: dt.date) -> str:
    """What a household is taken to say that has nothing to fetch: what is owed to it may come out by its last day."""
    if last_day >= today:
        sites = Site.objects.within(building).filter(
            pk__in=Share.objects.within(building)
            .filter(attribution__household=household)
            .values("split__harvest__batch__drum__site")
        )
        if any(credits(building, site).get(household.uid, 0) > 0 for site in sites):
            return str(Departure.Share.PICK_UP)
    return str(Departure.Share.GARDEN)


def settle(building: Building, departure: Departure, *, by: Person | None, now: dt.datetime) -> bool:
    """End and forget what is over by now; True once nothing is left to do. Call with the building locked."""
    if departure.forgotten_at is not None:
        return True
    today = building.local(now).date()
    fetches = departure.share == Departure.Share.PICK_UP
    # On its last day a household that fetches still has all that is owed to it: a harvest may be shared out then.
    if departure.last_day > today or (fetches and departure.last_day == today):
        return False
    household = departure.household
    Assignment.objects.within(building).filter(household=household).delete()
    leaving.revoke_keys(building, household, now)
    if fetches and claims(building, household):
        return False
    doing.forget(building, household)
    leaving.forget(building, household, of_amounts=OF_AMOUNTS, by=by, now=now)
    departure.forgotten_at = now
    departure.save(update_fields=["forgotten_at"])
    return True


def settle_all(building: Building, now: dt.datetime) -> None:
    """Settle every departure that is not over. Call with the building locked."""
    waiting = Departure.objects.within(building).filter(forgotten_at__isnull=True).select_related("household")
    for departure in waiting.order_by("pk"):
        settle(building, departure, by=None, now=now)


def _to_the_beds(
    ledger: Ledger, household: Household, open_claims: Claims, uid: UUID, person: Person | None, via: str,
    now: dt.datetime,
) -> None:  # fmt: skip
    household.gives_to_garden, household.gives_to_neighbours = True, False  # for a split before the last day
    household.save(update_fields=["gives_to_garden", "gives_to_neighbours"])
    for share, millionths in open_claims.waiting:
        row = ledger.add(
            Outgoing(
                uid=uuid5(uid, str(share.uid)),
                fingerprint=fingerprint({"share": share.uid, "left": millionths}),
                **asdict(times(now, now)),
                via=via,
                harvest=share.split.harvest,
                kind=Outgoing.Kind.UNCLAIMED,
                share=share,
                millionths=millionths,
            )
        )
        sign(OutgoingAttribution, row, person)


def _unshared(building: Building, household: Household) -> set[int]:
    """Batches that still live or wait to be shared out, and hold something that the household brought."""
    brought = Contribution.objects.within(building).filter(
        attribution__household=household, batch__isnull=False, reverses__isnull=True, reversed_by__isnull=True
    )
    batches = Batch.objects.within(building)
    at, ends = set(brought.values_list("batch", flat=True)), set()
    while at:  # what was put together with another lot goes on as that one
        found = batches.filter(pk__in=at).values_list("pk", "merged_into", "stage")
        at = {merged_into for _pk, merged_into, _stage in found if merged_into is not None}
        ends |= {(pk, stage) for pk, merged_into, stage in found if merged_into is None}
    live = {pk for pk, stage in ends if stage in LIVE}
    harvested = [pk for pk, stage in ends if stage not in LIVE]
    unsplit = Harvest.objects.within(building).filter(
        batch__in=harvested, split__isnull=True, reverses__isnull=True, reversed_by__isnull=True
    )
    return live | set(unsplit.values_list("batch", flat=True))
