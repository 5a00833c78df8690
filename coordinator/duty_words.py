"""Duties in words: when they are, what stands in the way of a plan, and what would free it."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format
from django.utils.text import capfirst, get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from bins.duties.kinds import WEEKDAYS as CODES
from bins.duties.planning import Gathered, Occurrence
from households.models import DutyKind
from households.rota.plan import Infeasible, Remedy, Way

WAYS: Mapping[str, Any] = {
    "fewest": gettext_lazy("The fewest changes"),
    "halfway": gettext_lazy("Halfway between both"),
    "fairest": gettext_lazy("The fairest from now on"),
}


def work(kind: DutyKind) -> str:
    """Turning the drums."""
    return capfirst(str(DutyKind.Work(kind.work).label))


def when(kind: DutyKind) -> str:
    """On which days, where a rule is that simple; else the rule itself."""
    parts = dict(part.split("=", 1) for part in kind.rule.split(";"))
    if parts == {"FREQ": "DAILY"}:
        return _("every day")
    if set(parts) == {"FREQ", "BYDAY"} and parts["FREQ"] == "WEEKLY" and set(parts["BYDAY"].split(",")) <= set(CODES):
        days = [str(WEEKDAYS[CODES.index(code)]) for code in parts["BYDAY"].split(",")]
        return get_text_list(days, _("and"))
    return kind.rule


def on_day(one: Occurrence) -> str:
    """Turning the drums on May 5."""
    return _("%(duty)s on %(day)s") % {"duty": work(one.kind), "day": date_format(one.day, "MONTH_DAY_FORMAT")}


def obstacle(found: Infeasible, gathered: Gathered, names: Mapping[int, str]) -> dict[str, list[str]]:
    """What can't be met together: the duties, whom they come down to, cells fixed by hand, and ways out."""
    return {
        "duties": [on_day(gathered.occurrences[uid]) for uid in found.tasks],
        "people": _people(found.only_households, gathered, names),
        "pins": [
            _("%(name)s is fixed for %(what)s")
            % {
                "name": _name(cell.household, gathered, names),
                "what": on_day(gathered.occurrences[cell.task]),
            }
            for cell in found.pins
        ],
        "ways": [text for way in found.ways if (text := _way(way, gathered, names))],
    }


def _people(uids: Iterable[UUID], gathered: Gathered, names: Mapping[int, str]) -> list[str]:
    return [_name(uid, gathered, names) for uid in uids]


def _name(uid: UUID, gathered: Gathered, names: Mapping[int, str]) -> str:
    home = gathered.households[uid]
    return names.get(home.pk) or home.label


def _way(way: Way, gathered: Gathered, names: Mapping[int, str]) -> str:
    what = on_day(gathered.occurrences[way.task]) if way.task in gathered.occurrences else ""
    match way.remedy:
        case Remedy.FEWER_PEOPLE:
            return _("Let it be with fewer people: %(what)s.") % {"what": what}
        case Remedy.MORE_ROOM:
            return _("Let more people do it: %(what)s.") % {"what": what}
        case Remedy.UNPIN if way.household is not None:
            return _("Let go of what is fixed: %(name)s, %(what)s.") % {
                "name": _name(way.household, gathered, names),
                "what": what,
            }
        case Remedy.CLOSER_DAYS:
            return _("Let people have duties on days closer together.")
    return ""
