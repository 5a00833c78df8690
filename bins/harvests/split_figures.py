"""A split as it may be told to those in charge: totals and counts, no names. Final, or as it would be now."""

import datetime as dt
from dataclasses import dataclass

from bins.harvests.breakdown import Breakdown, breakdown
from bins.harvests.sharing import Restated, preview, restate
from bins.models import Harvest, Share, Split
from bins.models.harvest import TUB
from households.models import Building


@dataclass(frozen=True)
class SplitFigures:
    """`mark` is that of the preview, and empty once final; `late` is there once final."""

    final: Split | None
    mark: str
    given_tubs: int
    beds_millionths: int
    given_up_tubs: int
    groups: Breakdown
    tied: int  # households alike at the last tub
    served: int
    late: Restated | None


def split_figures(building: Building, harvest: Harvest, on: dt.date) -> SplitFigures:
    """The split that stands of a harvest, else the one that would be if it were shared out on that day."""
    final: Split | None = Split.objects.within(building).filter(harvest=harvest).first()
    kind = harvest.batch.sharing_kind
    if final is not None:
        final.harvest = harvest
        takers = Share.objects.within(building).filter(split=final, to_garden=False, to_neighbours=False)
        return SplitFigures(
            final=final,
            mark="",
            given_tubs=final.given_tubs,
            beds_millionths=final.reserve_millionths + final.left_over_tubs * TUB,
            given_up_tubs=final.given_up_tubs,
            groups=breakdown(takers.values_list("tubs", flat=True), kind),
            tied=final.tied,
            served=final.served,
            late=restate(building, final),
        )
    seen = preview(building, harvest, on)
    split = seen.split
    return SplitFigures(
        final=None,
        mark=seen.mark,
        given_tubs=split.given_tubs,
        beds_millionths=split.reserve_millionths + split.left_over_tubs * TUB,
        given_up_tubs=split.given_up_tubs,
        groups=breakdown([s.tubs for s in split.shares if s.entitlement_millionths or s.tubs], kind),
        tied=len(split.tie.tied) if split.tie else 0,
        served=len(split.tie.served) if split.tie else 0,
        late=None,
    )
