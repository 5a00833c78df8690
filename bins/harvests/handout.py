"""The list for the day of fetching: who gets how many tubs, and what is fetched already."""

import datetime as dt
from dataclasses import dataclass

from bins.models import Outgoing, Share, Split
from bins.models.harvest import TUB
from households.models import Building, Household

LATE = dt.timedelta(days=7)  # chosen: the list stays open for whoever comes after the last day


@dataclass(frozen=True)
class Line:
    """One household on the hand-out list. Amounts in millionths of a tub."""

    share: Share
    household: Household
    given: int
    gift: int
    unclaimed: int
    last: Outgoing | None  # the newest pick-up or gift that stands, to be taken back

    @property
    def left(self) -> int:
        return self.share.tubs * TUB - self.given - self.gift - self.unclaimed


def is_open(split: Split, today: dt.date) -> bool:
    """Whether the list of names may be seen: from the split until a week after the last day."""
    return today <= split.pick_up_until + LATE


def open_splits(building: Building, today: dt.date) -> tuple[Split, ...]:
    """The splits that people fetch of on a day, or come late for; one query."""
    splits = Split.objects.within(building).filter(pick_up_on__lte=today, pick_up_until__gte=today - LATE)
    return tuple(splits.select_related("harvest__batch__drum").order_by("pick_up_until", "pk"))


def hand_out(building: Building, *splits: Split) -> tuple[Line, ...]:
    """Households that fetch something of these splits, by label; two queries however many there are."""
    shares = (
        Share.objects.within(building)
        .filter(split__in=splits, tubs__gt=0, attribution__household__isnull=False)
        .select_related("attribution__household", "split__harvest__batch__drum")
        .order_by("attribution__household__label", "split_id", "uid")
    )
    went: dict[str, dict[int, int]] = {kind: {} for kind in Outgoing.Kind.values}
    last: dict[int, Outgoing] = {}
    rows = Outgoing.objects.within(building).filter(share__split__in=splits).select_related("reversed_by")
    for row in rows.order_by("ledger_number"):
        sums = went[row.kind]
        sums[row.share_id] = sums.get(row.share_id, 0) + row.millionths
        is_undoable = row.kind in (Outgoing.Kind.GIVEN, Outgoing.Kind.GIFT)
        if is_undoable and row.reverses_id is None and not hasattr(row, "reversed_by"):
            last[row.share_id] = row
    return tuple(
        Line(
            share=share,
            household=share.attribution.household,
            given=went[Outgoing.Kind.GIVEN].get(share.pk, 0),
            gift=went[Outgoing.Kind.GIFT].get(share.pk, 0),
            unclaimed=went[Outgoing.Kind.UNCLAIMED].get(share.pk, 0),
            last=last.get(share.pk),
        )
        for share in shares
    )
