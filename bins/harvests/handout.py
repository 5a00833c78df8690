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
    unclaimed: int
    last: Outgoing | None  # the newest pick-up that stands, to be taken back

    @property
    def left(self) -> int:
        return self.share.tubs * TUB - self.given - self.unclaimed


def is_open(split: Split, today: dt.date) -> bool:
    """Whether the list of names may be seen: from the split until a week after the last day."""
    return today <= split.pick_up_until + LATE


def hand_out(building: Building, split: Split) -> tuple[Line, ...]:
    """Households that fetch something of a split, by label; two queries however many there are."""
    shares = (
        Share.objects.within(building)
        .filter(split=split, tubs__gt=0, attribution__household__isnull=False)
        .select_related("attribution__household")
        .order_by("attribution__household__label", "uid")
    )
    given: dict[int, int] = {}
    left_lying: dict[int, int] = {}
    last: dict[int, Outgoing] = {}
    rows = Outgoing.objects.within(building).filter(share__split=split).select_related("reversed_by")
    for row in rows.order_by("ledger_number"):
        sums = given if row.kind == Outgoing.Kind.GIVEN else left_lying
        sums[row.share_id] = sums.get(row.share_id, 0) + row.millionths
        if row.kind == Outgoing.Kind.GIVEN and row.reverses_id is None and not hasattr(row, "reversed_by"):
            last[row.share_id] = row
    return tuple(
        Line(
            share, share.attribution.household, given.get(share.pk, 0), left_lying.get(share.pk, 0), last.get(share.pk)
        )
        for share in shares
    )
