"""Scenes for nights: what has happened in two blocks before the night that is looked at."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from uuid import uuid5

from bins.care.visit import CareVisit, record_visit
from bins.decisions.settle import confirm
from bins.duties.drafting import DaysToPlan, ask
from bins.duties.leads import DaysTold, lead_away, set_leads
from bins.models import Decision, Drum, Place
from coordinator.jobs.run import run_due
from households.kept_files import ask_for_export
from households.models import Building, Notice
from households.tenancy import inside
from tests.bins.care.caring import batch_in, pail, put_in
from tests.bins.duties.planned import TODAY, duty, kind
from tests.bins.harvests.harvested import take_out
from tests.bins.slots.slotted import book_in, slot_in
from tests.cast import BASE, NOW, Cast, cast_of_two_blocks, found

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


def _booked_and_shut() -> None:
    cast = cast_of_two_blocks()
    with inside(cast.building.uid) as here:
        slot = slot_in(here, cast, uid=str(uuid5(BASE, "slot")))
        for person in (cast.resident, cast.neighbour):
            book_in(here, slot, person)
    set_quarantine(cast.building, cast.drum, "A")


def _export_asked_for() -> None:
    cast = cast_of_two_blocks()
    fill_to_the_mark(cast.building, cast.drum)
    with inside(cast.building.uid) as here:
        ask_for_export(building=here, uid=uuid5(BASE, "export"), person=cast.committee, now=NOW)


def _plan_asked_for() -> None:
    """A plan of four weeks of turning and a weekly opening: efforts differ, so the solver is asked."""
    cast = cast_of_two_blocks()
    site = cast.drum.site
    with inside(cast.building.uid) as here:
        kind(here, site, usual=1)
        kind(here, site, "opening", rule="FREQ=WEEKLY;BYDAY=SA", usual=2)
        told = DaysToPlan(uuid5(BASE, "plan"), TODAY + DAY, TODAY + 28 * DAY, False)
        ask(building=here, site=site, told=told, person=None, now=NOW)


def _duty_over_and_nobody_there() -> None:
    """The duties' night of 5 May lets go of one duty, and tells of a pause: the only lead is away from the 12th on."""
    cast = cast_of_two_blocks()
    site = cast.drum.site
    with inside(cast.building.uid) as here:
        duty(here, kind(here, site), TODAY - 3 * DAY, cast.resident)
        set_leads(building=here, site=site, people=(cast.caretaker.uid,), person=None, now=NOW)
        away = DaysTold(uuid5(BASE, "away"), cast.caretaker.uid, TODAY + 8 * DAY, TODAY + 9 * DAY)
        lead_away(building=here, site=site, told=away, now=NOW)


def _taken_out_and_learnt_from() -> None:
    """A lot of a day, measured twice and taken out: the forecast's night lives it to its end and keeps its lesson."""
    cast = cast_of_two_blocks()
    with inside(cast.building.uid) as here:
        pail(cast, here)
    visit(cast.building, cast.drum, NOW, "quarter")
    visit(cast.building, cast.drum, NOW + 13 * HOUR, "half")
    with inside(cast.building.uid) as here:
        lot = batch_in(here, cast, "A")
        for stage in ("composting", "curing", "ready"):
            put_in(here, lot, stage, NOW + 14 * HOUR)
        take_out(here, lot, 3, now=NOW + 15 * HOUR)


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
    # The night finds that booked times are off; at seven both households are told, and the letters go out.
    "booked times are off": Scene(_booked_and_shut, FIRST_NIGHT + 4 * HOUR + A_BIT_LATER),
    "letters": Scene(_letters, NOW + A_BIT_LATER),
    "an export asked for": Scene(_export_asked_for, NOW + A_BIT_LATER),
    "a lot taken out and learnt from": Scene(_taken_out_and_learnt_from, FIRST_NIGHT + DAY + HOUR + A_BIT_LATER),
    "a plan asked for": Scene(_plan_asked_for, NOW + A_BIT_LATER),
    "a duty over and nobody there": Scene(_duty_over_and_nobody_there, FIRST_NIGHT + HOUR),
}
