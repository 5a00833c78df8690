"""What is wrong with one batch, as it stands now: what was told, the causes, and what to do about the first."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from bins.decisions.gather import gather_drums, settings_of
from bins.models import Batch, Decision
from bins.process.diagnosis import WORTH_NAMING, Suspect
from bins.process.findings import Findings
from bins.process.proposal import Rule
from bins.process.remedies import figures_of
from bins.process.trouble import findings_of, heap_of, suspects_of
from households.models import Building


@dataclass(frozen=True)
class Look:
    """`suspects`: those worth naming, the likeliest first; none where nothing is known to be wrong.

    `figures`: the amounts of the first one's remedy; `task`: the proposal that waits for somebody's "done".
    """

    findings: Findings
    suspects: tuple[Suspect, ...]
    figures: Mapping[str, int]
    task: Decision | None


def look(building: Building, batch: Batch, now: dt.datetime) -> Look:
    """Sixteen queries. Needs a live batch with its drum and site."""
    ((site, drums),) = gather_drums(building, now, only=batch.drum)
    settings = settings_of(site, building.local(now).date())
    seen = next(one for one in drums[0].batches if one.uid == batch.uid)
    suspects = suspects_of(seen, settings, now)
    return Look(
        findings=findings_of(seen, settings, now),
        suspects=tuple(one for one in suspects if one is suspects[0] or one.probability >= WORTH_NAMING),
        figures=figures_of(suspects[0].cause, heap_of(seen, settings, now)) if suspects else {},
        task=(
            Decision.objects.within(building)
            .proposed()
            .filter(batch=batch, rule=str(Rule.TROUBLE))
            .select_related("batch__drum__site", "batch__place")
            .first()
        ),
    )
