"""After the last day for fetching: what still waits goes to the beds, and the books say so.

A day's sweep is named by its local date and sees the splits whose last day came before it.
"""

import datetime as dt
from dataclasses import asdict, dataclass
from uuid import UUID, uuid5

from django.db.models import Sum

from bins.harvests.balance import balances
from bins.models import Harvest, Outgoing, Share, Split
from bins.models.harvest import TUB
from households.ledger import fingerprint, open_ledger, times
from households.models import Building, Job, LedgerRow

NAME = "unclaimed"
AT = dt.time(3, 0)  # chosen: as the night, when nobody is fetching


def as_of(building: Building, day: dt.date) -> dt.datetime:
    return building.instant(day, AT)


def promise(building: Building, day: dt.date) -> None:
    """Promise the sweep of a day once; call inside the transaction that makes it needed."""
    Job.plan(building, NAME, day.isoformat(), as_of(building, day))


def promise_next(building: Building, now: dt.datetime) -> None:
    """Promise the next sweep: something waits again in a split whose last day is over."""
    promise(building, building.local(now).date() + dt.timedelta(days=1))


@dataclass(frozen=True)
class Lying:
    """What a household has not fetched: millionths of a tub, above 0."""

    share_uid: UUID
    millionths: int
    came: bool  # it fetched part of its share


@dataclass(frozen=True)
class Waiting:
    harvest_uid: UUID
    millionths: int
    shares: tuple[Lying, ...]


@dataclass(frozen=True)
class Left:
    """A row to write: of one share, or (None) what belongs to nobody."""

    harvest_uid: UUID
    share_uid: UUID | None
    millionths: int


def gather(building: Building, day: dt.date) -> tuple[Waiting, ...]:
    """Each harvest past its last day that has something waiting; three queries however many there are."""
    splits = Split.objects.within(building).filter(pick_up_until__lt=day).select_related("harvest").order_by("uid")
    harvests = [split.harvest for split in splits]
    standing = balances(building, harvests)
    shares: dict[int, list[Lying]] = {harvest.pk: [] for harvest in harvests if standing[harvest.pk].waiting}
    rows = Share.objects.within(building).filter(split__harvest__in=list(shares)).order_by("uid")
    for uid, tubs, went, harvest in rows.annotate(went=Sum("outgoings__millionths")).values_list(
        "uid", "tubs", "went", "split__harvest_id"
    ):
        if tubs * TUB > (went or 0):
            shares[harvest].append(Lying(uid, tubs * TUB - (went or 0), bool(went)))
    return tuple(
        Waiting(harvest.uid, standing[harvest.pk].waiting, tuple(shares[harvest.pk]))
        for harvest in harvests
        if harvest.pk in shares
    )


def decide(gathered: tuple[Waiting, ...]) -> tuple[Left, ...]:
    """Who left what lying; touches no database.

    Where some was lost, less is there than was left: then those who never came are counted first, so that a
    household which came and found too little is owed the rest.
    """
    found = []
    for waiting in gathered:
        there = waiting.millionths
        for lying in sorted(waiting.shares, key=lambda lying: (lying.came, lying.share_uid)):
            amount = min(there, lying.millionths)
            if amount:
                found.append(Left(waiting.harvest_uid, lying.share_uid, amount))
            there -= amount
        if there:
            found.append(Left(waiting.harvest_uid, None, there))
    return tuple(found)


def apply(building: Building, left: tuple[Left, ...], at: dt.datetime, now: dt.datetime, name_space: UUID) -> None:
    """Write what the sweep found. New rows take their uid from the job's own name space.

    Whoever knows how those are made could have sent a gift under one of them: then the sweep takes another.
    """
    harvests = {h.uid: h for h in Harvest.objects.within(building).filter(uid__in={row.harvest_uid for row in left})}
    shares = {s.uid: s for s in Share.objects.within(building).filter(uid__in={row.share_uid for row in left})}
    uids = {row: uuid5(name_space, str(row.share_uid or row.harvest_uid)) for row in left}
    rows = Outgoing.objects.within(building)
    with open_ledger(building) as ledger:
        while taken := set(rows.filter(uid__in=uids.values()).values_list("uid", flat=True)):
            uids = {row: uuid5(uid, "again") if uid in taken else uid for row, uid in uids.items()}
        for row in left:
            share = shares[row.share_uid] if row.share_uid else None
            ledger.add(
                Outgoing(
                    uid=uids[row],
                    fingerprint=fingerprint(asdict(row)),
                    **asdict(times(at, max(at, now))),
                    via=LedgerRow.Via.WEB,
                    harvest=harvests[row.harvest_uid],
                    kind=Outgoing.Kind.UNCLAIMED if share else Outgoing.Kind.RESERVE,
                    share=share,
                    millionths=row.millionths,
                )
            )
