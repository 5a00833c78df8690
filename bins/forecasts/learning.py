"""What a site's own harvested lots have taught the physical model about the next one."""

import datetime as dt
from collections import defaultdict

from bins.models import ForecastState
from bins.process.model.border import Hindcast, Kept
from bins.process.model.border import Site as Prior
from households.models import Building


def learnt_of(building: Building) -> defaultdict[int, list[tuple[dt.datetime, Hindcast]]]:
    """What each site's harvested lots have taught, by the site's key, with the instant of their end."""
    found: defaultdict[int, list[tuple[dt.datetime, Hindcast]]] = defaultdict(list)
    rows = ForecastState.objects.within(building).filter(is_final=True, batch__ended_at__isnull=False)
    for state in rows.defer("blob").select_related("batch__drum").order_by("batch__ended_at", "batch__uid"):
        prior = Prior(tuple(state.site["shift"]), tuple(state.site["width"]), state.site["batches"])
        taught = Hindcast(
            Kept(state.day, state.version, b""), 0.0, 1.0, 0.0, tuple(state.shift), tuple(state.width), prior
        )
        found[state.batch.drum.site_id].append((state.batch.ended_at, taught))
    return found
