"""What asks for a visit, in an officer's words."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from bins.process.alive import Need

NEEDS: dict[Need, Any] = {
    Need.LATE_REPORT: gettext_lazy("A neighbour's report has no answer yet."),
    Need.FULL: gettext_lazy("No hatch is open: nothing can be brought."),
    Need.NO_VISIT: gettext_lazy("Nobody has looked after the drums for two weeks or more."),
    Need.OLD_TASK: gettext_lazy("A task has waited for a person for a week or more."),
    Need.SILENT: gettext_lazy("Nobody has brought anything for three weeks or more."),
}


def needs_said(pulse: dict[str, Any]) -> list[str]:
    """The needs that a night found, the most pressing first."""
    return [str(NEEDS[Need(need)]) for need in pulse.get("needs", ())]


def days_said(days: int | None) -> str:
    """How long ago, seen from the last night."""
    if days is None:
        return _("never")
    if days == 0:
        return _("the same day")
    return ngettext("%(n)s day before", "%(n)s days before", days) % {"n": days}
