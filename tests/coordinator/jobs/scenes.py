"""Scenes for nights: what has happened in two blocks before the night that is looked at."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from uuid import uuid5

from bins.care.visit import CareVisit, record_visit
from bins.decisions.settle import confirm
from bins.models import Decision, Drum, Place
from coordinator.jobs.run import run_due
from households.models import Building, Notice
from households.tenancy import inside
from tests.cast import NOW, Cast, cast_of_two_blocks, found

HOUR = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)
FIRST_NIGHT = dt.datetime(2026, 5, 5, 1, 0, tzinfo=dt.UTC)  # 03:00 in Berlin
A_BIT_LATER = dt.timedelta(seconds=7)


def visit(building: Building, drum: Drum, at: dt.datetime, level: str, *, turned: bool = True) -> None:
    """Somebody looks into the open hatch."""
    told = CareVisit.from_raw(
        {
            "uid": str(uuid5(drum.uid, f"visit {at.isoformat()}")),
            "drum": str(drum.uid),
            "turned": turned,
            "level": level,
            "happened_at": at.isoformat(),
        }
    )
    with inside(building.uid) as here:
        record_visit(building=here, told=told, person=None, via="web", now=at)


def fill_to_the_mark(building: Building, drum: Drum, at: dt.datetime = NOW) -> None:
    """75 % after a turn, and again at the next visit: rule 2 closes it."""
    visit(building, drum, at, "three_quarters")
    visit(building, drum, at + HOUR, "three_quarters", turned=False)


def set_quarantine(building: Building, drum: Drum, letter: str, shut: bool = True) -> None:
    with inside(building.uid) as here:
        Place.objects.within(here).filter(drum=drum, letter=letter).update(is_quarantined=shut)


def _both_full() -> None:
    cast = cast_of_two_blocks()
    fill_to_the_mark(cast.building, cast.drum)
    fill_to_the_mark(cast.elsewhere, cast.elsewhere_drum)


def _proposed_once() -> Cast:
    cast = cast_of_two_blocks()
    fill_to_the_mark(cast.building, cast.drum)
    run_due(FIRST_NIGHT + A_BIT_LATER)
    return cast


def _next_hatch_shut() -> None:
    cast = _proposed_once()
    set_quarantine(cast.building, cast.drum, "B")


def _level_sank() -> None:
    cast = _proposed_once()
    visit(cast.building, cast.drum, FIRST_NIGHT + 6 * HOUR, "half")


def _three_drums() -> None:
    block = found("Medlar Row", "Ada", "ada@medlar-row.invalid", drums=3)
    for drum in block.drums:
        fill_to_the_mark(block.building, drum)


def _full_with_the_first_in_use() -> None:
    cast = _proposed_once()
    with inside(cast.building.uid) as here:
        decision = Decision.objects.within(here).proposed().get()
        confirm(building=here, uid=decision.uid, person=None, via="web", now=FIRST_NIGHT + 6 * HOUR)
    fill_to_the_mark(cast.building, cast.drum, FIRST_NIGHT + 8 * HOUR)


def _letters() -> None:
    cast = cast_of_two_blocks()
    with inside(cast.building.uid) as here:
        for number in range(3):
            Notice.post(
                building=here,
                kind="welcome",
                to="imani@quince-court.invalid",
                subject=f"Letter {number}",
                body="Scraps go to the hatch with the tag.",
                due_at=NOW,
            )


@dataclass(frozen=True)
class Scene:
    begin: Callable[[], object]
    now: dt.datetime  # of the run that is disturbed


SCENES = {
    "both blocks full": Scene(_both_full, FIRST_NIGHT + A_BIT_LATER),
    "figures refreshed": Scene(_proposed_once, FIRST_NIGHT + DAY + A_BIT_LATER),
    "next hatch shut since": Scene(_next_hatch_shut, FIRST_NIGHT + DAY + A_BIT_LATER),
    "level sank since": Scene(_level_sank, FIRST_NIGHT + DAY + A_BIT_LATER),
    "three drums, three missed nights": Scene(_three_drums, FIRST_NIGHT + 2 * DAY + A_BIT_LATER),
    "no empty hatch": Scene(_full_with_the_first_in_use, FIRST_NIGHT + DAY + A_BIT_LATER),
    "letters": Scene(_letters, NOW + A_BIT_LATER),
}
