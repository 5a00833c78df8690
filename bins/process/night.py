"""All chamber rules over all drums of a building: the pure half of the nightly job."""

from datetime import datetime

from bins.process.clash import decide_clash
from bins.process.curing import decide_curing
from bins.process.filling import decide_filling
from bins.process.fresh import decide_fresh
from bins.process.proposal import Proposal
from bins.process.reading import require_aware
from bins.process.ready import decide_ready
from bins.process.site import SiteSettings
from bins.process.snapshot import DrumSnapshot
from bins.process.trouble import decide_trouble
from bins.process.winter import decide_winter

RULES = (decide_filling, decide_clash, decide_curing, decide_ready, decide_fresh, decide_winter, decide_trouble)


def decide_night(drums: tuple[DrumSnapshot, ...], settings: SiteSettings, now: datetime) -> tuple[Proposal, ...]:
    """Every proposal of the night, drums by uid, within a drum in the order of RULES, then by
    batch uid.

    The same snapshots in any order give the same answer, so a replay can be compared line by line.
    Raises ValueError when `now` has no time zone or a drum appears twice.
    """
    require_aware("now", now)
    if len({drum.uid for drum in drums}) != len(drums):
        raise ValueError("a drum appears twice")
    proposals: list[Proposal] = []
    for drum in sorted(drums, key=lambda one: one.uid):
        for decide in RULES:
            proposals += decide(drum, settings, now)
    return tuple(proposals)
