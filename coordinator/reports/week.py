"""The week's list as data for paper: what is to be done, and a row a day for each drum."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import get_language, get_language_bidi
from django.utils.translation import gettext as _

from households.models import Building

from .plain import lines_of


@dataclass(frozen=True)
class DrumWeek:
    title: str
    stages: str


@dataclass(frozen=True)
class Week:
    title: str
    building: str
    access: tuple[str, ...]
    to_do_title: str
    to_do: tuple[str, ...]
    drums: tuple[DrumWeek, ...]
    headings: tuple[str, ...]
    days: tuple[str, ...]
    cancelled: str
    foot: str
    language: str
    is_right_to_left: bool


def week_of(building: Building, found: Mapping[str, Any]) -> Week:
    """From what the page of the same list shows, in the language that is active."""
    monday = date_format(found["monday"], "DATE_FORMAT")
    return Week(
        title=_("The drums in the week from %(day)s") % {"day": monday},
        building=building.name,
        access=tuple(f"{site.name}: {site.access}" for site in found["sites"] if site.access),
        to_do_title=_("To do"),
        to_do=(*map(_task, found["tasks"]), *map(_chore, found["chores"])),
        drums=tuple(
            DrumWeek(
                " ".join(lines_of("pages/parts/open.html", state=state)),
                "; ".join(f"{letter}: {stage}" for letter, stage in stages),
            )
            for state, stages in found["drums"]
        ),
        headings=(_("Day"), _("Who"), _("Turned"), _("How full"), _("Browns there"), _("Anything wrong")),
        days=tuple(date_format(day, "D j") for day in found["days"]),
        cancelled=f"{_('Cards that no longer count:')} {', '.join(found['cancelled'])}" if found["cancelled"] else "",
        foot=_(
            "Turning: first close and latch both hatches. Stand clear, hold the drum, turn slowly, lock it after. "
            "Glass or a needle: do not touch, shut the hatch. Smoke: leave, call the fire service."
        ),
        language=get_language() or "en",
        is_right_to_left=get_language_bidi(),
    )


def _task(task: Mapping[str, Any]) -> str:
    said = lines_of("pages/parts/task_words.html", task=task)
    decides = lines_of("pages/parts/who_decides.html", task=task)
    steps = task["trouble"].steps if task["trouble"] else ()
    return " ".join(map(str, (*said, task["why"], *decides, *steps)))


def _chore(chore: Any) -> str:
    return " ".join(lines_of("pages/parts/chore_words.html", chore=chore))
