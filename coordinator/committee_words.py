"""Decisions of the committee in the reader's language: what changed, from its codes and figures."""

from typing import Any, Final

from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from bins.models import SiteLimit
from bins.process.stage import Stage
from households.models import Building, CommitteeDecision, Site

from .pages.coins import coins

# Names of what changed -> the words on the page. Stored in decisions: never rename one.
FIGURES: Final[dict[str, Any]] = {
    "sharing_kind": gettext_lazy("How the compost is shared out"),
    "reserve_percent": gettext_lazy("For the beds first, in percent"),
    "ceiling_percent": gettext_lazy("At most so much of an equal share, in percent"),
    "least_drop_offs": gettext_lazy("Drop-offs to take part"),
    "tub_ml": gettext_lazy("What the tub holds, in millilitres"),
    "unclaimed_after_days": gettext_lazy("Days that a share waits"),
    "least_tubs": gettext_lazy("At least so many tubs for each household"),
    "most_tubs": gettext_lazy("At most so many tubs for one household at once"),
    "minutes_a_visit": gettext_lazy("Minutes that a care visit counts for"),
    "requests_by_weight": gettext_lazy("Whoever brought more may ask for more"),
    "opening": gettext_lazy("When scraps may be brought"),
    "decides": gettext_lazy("Who says when a lot may go on"),
    "approval_above": gettext_lazy("Above this amount a second person looks at money"),
    "limit_on": gettext_lazy("A limit on"),
    "figure": gettext_lazy("The limit"),
}
LABELS: Final[dict[str, dict[Any, Any]]] = {
    "sharing_kind": dict(Site.Sharing.choices),
    "requests_by_weight": {True: gettext_lazy("yes"), False: gettext_lazy("no")},
    "opening": dict(Site.Opening.choices),
    "limit_on": dict(SiteLimit.What.choices),
    "decides": dict(Site.Decides.choices),
}


def about(row: CommitteeDecision) -> str:
    return str(CommitteeDecision.About(row.about).label)


def in_short(row: CommitteeDecision) -> str:
    """What it was about; of a plain decision what was decided, since "something else" tells nobody anything."""
    if row.about == CommitteeDecision.About.OTHER and row.words:
        return format_html('<bdi translate="no">{}</bdi>', row.words.rstrip("."))
    return about(row)


def changes(row: CommitteeDecision, building: Building) -> list[tuple[str, str]]:
    """What changed: its name in words, and its value from then on. Nothing for a plain decision."""
    return [
        (str(FIGURES[name]), _value(name, value, building)) for name, value in row.figures.items() if name in FIGURES
    ]


def _value(name: str, value: Any, building: Building) -> str:
    if value is None or value == "":
        return _("no limit")
    if name == "approval_above":
        return coins(value, building)
    return str(LABELS.get(name, {}).get(value, value))


def answered(row: CommitteeDecision) -> str:
    """The committee's answer to a question of the rules, in one sentence; empty for any other decision."""
    if row.about != CommitteeDecision.About.STAGE:
        return ""
    number, answer = row.figures.get("drum"), row.figures.get("answer")
    if answer == "no":
        return _("A lot of drum %(number)s stays as it is for now.") % {"number": number}
    match row.figures.get("to_stage"):
        case Stage.CURING.value:
            return _("A lot of drum %(number)s may rest.") % {"number": number}
        case Stage.READY.value if answer == "yes":
            return _("A lot of drum %(number)s is finished.") % {"number": number}
        case Stage.COMPOSTING.value:
            return _("A lot of drum %(number)s works for longer.") % {"number": number}
    return _("What was asked about drum %(number)s is settled.") % {"number": number}
