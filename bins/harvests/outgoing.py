"""What leaves a harvest: what was fetched, given away or lost, and taking any of it back."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.harvests import unclaimed
from bins.harvests.balance import balance
from bins.harvests.share_words import tubs as in_tubs
from bins.models import Harvest, Outgoing, OutgoingAttribution, Share, ShareAttribution, Split
from bins.models.harvest import TUB
from bins.records import Reader, Refused
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Household, Person

MOST_TUBS = 1000
UNDOABLE = (Outgoing.Kind.GIVEN, Outgoing.Kind.GIFT, Outgoing.Kind.LOST)


@dataclass(frozen=True)
class PickUp:
    """Somebody fetched of a share: so many millionths of a tub, or (None) all of it that is there."""

    uid: UUID
    share_uid: UUID
    happened_at: dt.datetime | None
    millionths: int | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named. tubs: above 0, up to 1000."""
        reader = Reader(raw)
        told = cls(reader.uid(), reader.uid("share"), _when(reader), _millionths(reader))
        reader.finish()
        return told


@dataclass(frozen=True)
class Gift:
    """Tubs of its share that a household gives away: so many millionths of a tub, or (None) all that is left."""

    uid: UUID
    share_uid: UUID
    to: str
    millionths: int | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: `to` garden or neighbours; tubs above 0. Raises Refused."""
        reader = Reader(raw)
        to = reader.choice("to", [to for to in Outgoing.To.values if to])
        told = cls(reader.uid(), reader.uid("share"), to, _millionths(reader))
        reader.finish()
        return told


@dataclass(frozen=True)
class Loss:
    """Compost that is not there any more, before or after the split. A witness, if there is one; no accusation."""

    uid: UUID
    happened_at: dt.datetime | None
    loss: str
    millionths: int
    witness: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. Raises Refused with every fault named. tubs: above 0, up to 1000."""
        reader = Reader(raw)
        millionths = _millionths(reader)
        if millionths is None and "tubs" not in reader.errors:
            reader.errors["tubs"] = _("How many tubs are gone? A part is fine, such as 0.5.")
        kinds = [kind for kind in Outgoing.Loss.values if kind]
        told = cls(
            uid=reader.uid(),
            happened_at=_when(reader),
            loss=reader.choice("loss", kinds),
            millionths=millionths or 0,
            witness=reader.words("witness", 80, ""),
        )
        reader.finish()
        return told


def _when(reader: Reader) -> dt.datetime | None:
    nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
    found = reader.instant("happened_at", nothing)
    return None if found == nothing else found


def _millionths(reader: Reader) -> int | None:
    thousandths = reader.thousandths("tubs", MOST_TUBS * 1000)
    return None if thousandths is None else thousandths * (TUB // 1000)


@dataclass(frozen=True)
class Recorded:
    row: Outgoing
    is_new: bool


def record_pick_up(*, building: Building, told: PickUp, person: Person | None, via: str, now: dt.datetime) -> Recorded:
    """Write down what a household fetched: never more than its share has left, nor than is there. Once a uid.

    After the last day what it had left lying is taken back first: it came after all. Raises Share.DoesNotExist
    for a share of another building, UidReused, and Refused.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(Outgoing, building, told.uid, print_):
            return Recorded(known, is_new=False)
        share = Share.objects.within(building).select_related("split__harvest").get(uid=told.share_uid)
        split, harvest = share.split, share.split.harvest
        whose = ShareAttribution.objects.within(building).filter(row=share).select_related("household").first()
        rows = list(Outgoing.objects.within(building).filter(share=share))
        gone = sum(row.millionths for row in rows if row.kind in (Outgoing.Kind.GIVEN, Outgoing.Kind.GIFT))
        lying = [
            row for row in rows
            if row.kind == Outgoing.Kind.UNCLAIMED and row.reverses_id is None
            and not any(other.reverses_id == row.pk for other in rows)
        ]  # fmt: skip
        left = share.tubs * TUB - gone
        there = balance(building, harvest).waiting + sum(row.millionths for row in lying)
        amount = min(left, there) if told.millionths is None else told.millionths
        if left <= 0:
            raise Refused({"tubs": _("This household has fetched its whole share already, or given it away.")})
        if not 0 < amount <= left:
            raise Refused({"tubs": _("Only %(tubs)s tubs of this share are left.") % {"tubs": in_tubs(left)}})
        if amount > there:
            raise Refused({"tubs": _("Only %(tubs)s tubs are there still.") % {"tubs": in_tubs(there)}})
        for row in lying:
            _reverse(ledger, row, person, via, now)
        row = ledger.add(
            Outgoing(
                uid=told.uid, fingerprint=print_, **asdict(times(told.happened_at or now, now)), via=via,
                harvest=harvest, kind=Outgoing.Kind.GIVEN, share=share, millionths=amount,
            )
        )  # fmt: skip
        _attribute(row, whose.household if whose else None, person)
        _promise_if_over(building, split, now)
    return Recorded(row, is_new=True)


def record_gift(
    *, building: Building, household: Household, told: Gift, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Write down what a household gives away of its own share while it waits to be fetched. Once a uid.

    It stays with the harvest's other tubs until somebody takes it, but is its no more, and isn't owed to it again.
    Raises Share.DoesNotExist for a share that isn't the household's, UidReused, and Refused where less is left.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(Outgoing, building, told.uid, print_):
            return Recorded(known, is_new=False)
        shares = Share.objects.within(building).filter(attribution__household=household)
        share = shares.select_related("split__harvest").get(uid=told.share_uid)
        went = sum(Outgoing.objects.within(building).filter(share=share).values_list("millionths", flat=True))
        left = min(share.tubs * TUB - went, balance(building, share.split.harvest).waiting)
        amount = left if told.millionths is None else told.millionths
        if not 0 < amount <= left:
            raise Refused({"tubs": _("Only %(tubs)s tubs of this share are left.") % {"tubs": in_tubs(max(0, left))}})
        row = ledger.add(
            Outgoing(
                uid=told.uid, fingerprint=print_, **asdict(times(now, now)), via=via, harvest=share.split.harvest,
                kind=Outgoing.Kind.GIFT, share=share, gift_to=told.to, millionths=amount,
            )
        )  # fmt: skip
        _attribute(row, household, person)
    return Recorded(row, is_new=True)


def record_loss(
    *, building: Building, harvest_uid: UUID, told: Loss, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Write down what is gone of a harvest: never more than waits there. Once a uid.

    Raises Harvest.DoesNotExist for a harvest of another building or one measured again, UidReused, and Refused.
    """
    print_ = fingerprint(asdict(told) | {"harvest": harvest_uid, "via": via})
    with open_ledger(building) as ledger:
        if known := already(Outgoing, building, told.uid, print_):
            return Recorded(known, is_new=False)
        standing = Harvest.objects.within(building).filter(reverses__isnull=True, reversed_by__isnull=True)
        harvest = standing.get(uid=harvest_uid)
        there = balance(building, harvest).waiting
        if told.millionths > there:
            raise Refused({"tubs": _("Only %(tubs)s tubs are there still.") % {"tubs": in_tubs(there)}})
        row = ledger.add(
            Outgoing(
                uid=told.uid, fingerprint=print_, **asdict(times(told.happened_at or now, now)), via=via,
                harvest=harvest, kind=Outgoing.Kind.LOST, loss=told.loss, millionths=told.millionths,
            )
        )  # fmt: skip
        _attribute(row, None, person, told.witness)
    return Recorded(row, is_new=True)


def undo(*, building: Building, uid: UUID, person: Person | None, via: str, now: dt.datetime) -> Outgoing:
    """Take back a pick-up, a gift or a loss by a row that reverses it. Doing so twice gives the same row.

    Raises Outgoing.DoesNotExist for any other row.
    """
    with open_ledger(building) as ledger:
        row = (
            Outgoing.objects.within(building)
            .select_related("harvest")
            .get(uid=uid, kind__in=UNDOABLE, reverses__isnull=True)
        )
        known: Outgoing | None = Outgoing.objects.within(building).filter(reverses=row).first()
        if known is not None:
            return known
        reversal = _reverse(ledger, row, person, via, now)
        split = Split.objects.within(building).filter(harvest=row.harvest).first()
        if split is not None:
            _promise_if_over(building, split, now)
    return reversal


def _promise_if_over(building: Building, split: Split, now: dt.datetime) -> None:
    """What waits after the last day waits for the next sweep."""
    if building.local(now).date() > split.pick_up_until:
        unclaimed.promise_next(building, now)


def _reverse(ledger: Ledger, row: Outgoing, person: Person | None, via: str, now: dt.datetime) -> Outgoing:
    reversal = ledger.add(
        Outgoing(
            uid=uuid5(row.uid, "reversal"), fingerprint=fingerprint({"reverses": row.uid}),
            happened_at=row.happened_at, heard_at=now, counts_at=row.counts_at, doubt=row.doubt, via=via,
            reverses=row, harvest_id=row.harvest_id, kind=row.kind, loss=row.loss, gift_to=row.gift_to,
            share_id=row.share_id, millionths=-row.millionths,
        )
    )  # fmt: skip
    _attribute(reversal, None, person)
    return reversal


def _attribute(row: Outgoing, household: Household | None, person: Person | None, witness: str = "") -> None:
    OutgoingAttribution.objects.create(
        building_id=row.building_id, uid=uuid5(row.uid, "attribution"), row=row, household=household, person=person,
        witness=witness,
    )  # fmt: skip
