"""A harvest shared out: shown first as it would be now, then once and for all."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.db.models import Sum
from django.utils.translation import gettext as _

from bins.harvests import unclaimed
from bins.harvests.balance import balance
from bins.harvests.share_words import tell
from bins.harvests.took_part import asked_for, claimants, credits, still_here, weights
from bins.models import Harvest, Outgoing, OutgoingAttribution, Share, ShareAttribution, Split, SplitAttribution
from bins.models.harvest import TUB
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Household, Person
from households.sharing import split as pure
from households.sharing.claimant import Claimant


@dataclass(frozen=True)
class Preview:
    """A split as it would be at this moment, and a mark of it: what is made final is what was looked at."""

    split: pure.Split
    mark: str


@dataclass(frozen=True)
class Sharing:
    """The word to share out: the preview that was seen, and when and where to fetch."""

    uid: UUID
    mark: str
    pick_up_on: dt.date
    pick_up_where: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named."""
        reader = Reader(raw)
        pick_up_on = reader.day("pick_up_on")
        if pick_up_on is None and "pick_up_on" not in reader.errors:
            reader.errors["pick_up_on"] = _("From which day can people fetch it?")
        told = cls(
            uid=reader.uid(),
            mark=reader.words("mark", 64, _("Look at the preview first.")),
            pick_up_on=pick_up_on or dt.date.min,
            pick_up_where=reader.words("pick_up_where", 120, _("Where do people fetch it?")),
        )
        reader.finish()
        return told


@dataclass(frozen=True)
class Recorded:
    row: Split
    is_new: bool


def preview(building: Building, harvest: Harvest, on: dt.date) -> Preview:
    """The split on present facts, if it is shared out on that day. Nothing is stored."""
    claims = claimants(building, harvest, on)
    divided = balance(building, harvest).waiting
    split = pure.split_harvest(divided, harvest.batch.sharing_rule, claims)
    shares = sorted((str(s.uid), s.tubs, s.entitlement_millionths, s.credit_before_millionths) for s in split.shares)
    return Preview(split, fingerprint({"harvest": harvest.uid, "divided": divided, "shares": shares}))


def finalise(
    *, building: Building, harvest_uid: UUID, told: Sharing, person: Person | None, via: str, now: dt.datetime
) -> Recorded:
    """Share out a harvest once: the split, a share for each household, the beds' part, a message to each.

    Asked again, or by two people at once, it gives the split that stands. Raises Harvest.DoesNotExist for one
    of another building or one measured again since, UidReused, and Refused where what was seen has changed.
    """
    print_ = fingerprint(asdict(told) | {"harvest": harvest_uid, "via": via})
    with open_ledger(building) as ledger:
        if known := already(Split, building, told.uid, print_):
            return Recorded(known, is_new=False)
        harvest = (
            Harvest.objects.within(building)
            .select_related("batch__drum__site")
            .get(uid=harvest_uid, reverses__isnull=True, reversed_by__isnull=True)
        )
        stands: Split | None = Split.objects.within(building).filter(harvest=harvest).first()
        if stands is not None:
            return Recorded(stands, is_new=False)
        today = building.local(now).date()
        if told.pick_up_on < today:
            raise Refused({"pick_up_on": _("That day is over. Choose today or a later day.")})
        seen = preview(building, harvest, today)
        if seen.mark != told.mark:
            raise Refused({"mark": _("Something was written down since you looked. Look at the new sharing first.")})
        row = _write(ledger, harvest, told, seen.split, print_, person, via, now)
    return Recorded(row, is_new=True)


def _write(
    ledger: Ledger, harvest: Harvest, told: Sharing, split: pure.Split, print_: str, person: Person | None, via: str,
    now: dt.datetime,
) -> Split:  # fmt: skip
    building = ledger.building
    days = dt.timedelta(days=harvest.batch.drum.site.unclaimed_after_days)
    row = ledger.add(
        Split(
            uid=told.uid,
            fingerprint=print_,
            **asdict(times(now, now)),
            via=via,
            harvest=harvest,
            divided_millionths=split.harvested_millionths,
            reserve_millionths=split.reserve_millionths,
            left_over_tubs=split.left_over_tubs,
            given_up_tubs=split.given_up_tubs,
            tie=Split.Tie.LARGER_THEN_UID if split.tie else Split.Tie.NONE,
            tied=len(split.tie.tied) if split.tie else 0,
            served=len(split.tie.served) if split.tie else 0,
            pick_up_on=told.pick_up_on,
            pick_up_until=told.pick_up_on + days,
            pick_up_where=told.pick_up_where,
        )
    )
    sign(SplitAttribution, row, person)
    part = weights(building, harvest)
    found = {
        household.uid: household
        for household in Household.objects.within(building).filter(uid__in=[share.uid for share in split.shares])
    }
    shares = [
        (found[share.uid], _add_share(ledger, row, share, found[share.uid], print_, via, now))
        for share in split.shares
        if share.uid in part or share.tubs
    ]
    beds = split.reserve_millionths + split.left_over_tubs * TUB
    if beds:
        reserve = ledger.add(
            Outgoing(
                uid=uuid5(row.uid, "reserve"), fingerprint=print_, **asdict(times(now, now)), via=via,
                harvest=harvest, kind=Outgoing.Kind.RESERVE, millionths=beds,
            )
        )  # fmt: skip
        sign(OutgoingAttribution, reserve, person)
    if split.given_tubs:
        unclaimed.promise(building, row.pick_up_until + dt.timedelta(days=1))
    tell(building, row, shares, now)
    return row


def _add_share(
    ledger: Ledger, split: Split, share: pure.Share, household: Household, print_: str, via: str, now: dt.datetime
) -> Share:
    row = ledger.add(
        Share(
            uid=uuid5(split.uid, str(household.uid)),
            fingerprint=print_,
            **asdict(times(now, now)),
            via=via,
            split=split,
            due_millionths=share.entitlement_millionths,
            credit_before_millionths=share.credit_before_millionths,
            tubs=share.tubs,
            credit_after_millionths=share.credit_after_millionths,
            to_garden=household.gives_to_garden,
            to_neighbours=household.gives_to_neighbours,
        )
    )
    ShareAttribution.objects.create(
        building=ledger.building, uid=uuid5(row.uid, "attribution"), row=row, household=household
    )
    return row


@dataclass(frozen=True)
class Restated:
    """What a final split would be with what was written down since. It changes nothing."""

    differing_households: int
    moved_tubs: int


def restate(building: Building, split: Split) -> Restated:
    """Share the same amount out again on the books of now, with the credits and the choices of then."""
    harvest = split.harvest
    then = {
        row.attribution.household.uid: row
        for row in Share.objects.within(building)
        .filter(split=split, attribution__household__isnull=False)
        .select_related("attribution__household")
    }
    part = weights(building, harvest)
    owed = credits(building, harvest.batch.drum.site, before=split.ledger_number)
    asked = asked_for(building, harvest.batch, before=split.ledger_number)
    carrying = {uid for uid, amount in owed.items() if amount} - set(then) - set(part)
    if carrying:
        day = building.local(split.counts_at).date()
        here = Household.objects.within(building).filter(still_here(day), uid__in=carrying)
        carrying = set(here.values_list("uid", flat=True))
    claims = tuple(
        Claimant(
            uid=uid,
            weight=part.get(uid, 0),
            credit_millionths=then[uid].credit_before_millionths if uid in then else owed.get(uid, 0),
            request_tubs=asked.get(uid),
            to_garden=uid in then and then[uid].to_garden,
            to_neighbours=uid in then and then[uid].to_neighbours,
        )
        for uid in sorted(set(part) | set(then) | carrying)
    )
    fresh = pure.split_harvest(split.divided_millionths, harvest.batch.sharing_rule, claims)
    changes = [share.tubs - (then[share.uid].tubs if share.uid in then else 0) for share in fresh.shares]
    return Restated(
        differing_households=sum(change != 0 for change in changes),
        moved_tubs=sum(change for change in changes if change > 0),
    )


def of_household(building: Building, household: Household) -> list[Share]:
    """A household's own shares, newest first."""
    return list(
        Share.objects.within(building)
        .filter(attribution__household=household)
        .select_related("split__harvest__batch__drum__site")
        .order_by("-ledger_number")
    )


def fetched(building: Building, shares: list[Share]) -> dict[int, int]:
    """Share -> millionths of a tub that were fetched of it; one query for all."""
    return _gone(building, shares, Outgoing.Kind.GIVEN)


def given_away(building: Building, shares: list[Share]) -> dict[int, int]:
    """Share -> millionths of a tub that its household gave away; one query for all."""
    return _gone(building, shares, Outgoing.Kind.GIFT)


def _gone(building: Building, shares: list[Share], kind: str) -> dict[int, int]:
    rows = Outgoing.objects.within(building).filter(share__in=shares, kind=kind).order_by()
    return dict(rows.values_list("share_id").annotate(Sum("millionths")))
