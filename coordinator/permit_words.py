"""Limits and the period log in the reader's language. The log says "recorded", and never more."""

from typing import Any, Final

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from bins.models import Case, Reading, SiteLimit, Visit, WrongItem
from bins.permits.limits import LimitState
from bins.permits.period_log import Kind, Line
from households.models import Building

from .pages.amounts import volume, weight

KINDS: Final[dict[Kind, Any]] = {
    Kind.VISIT: gettext_lazy("visit"),
    Kind.READING: gettext_lazy("measured or judged"),
    Kind.WRONG_ITEM: gettext_lazy("wrong item"),
    Kind.REPORT: gettext_lazy("report by a neighbour"),
    Kind.ANSWERED: gettext_lazy("first answer to a report"),
    Kind.SHUT: gettext_lazy("hatch shut"),
    Kind.OPENED: gettext_lazy("hatch opened again"),
}
SQUEEZED: Final = (gettext_lazy("dry"), gettext_lazy("right"), gettext_lazy("wet"))


def figure(what: str, number: int, building: Building) -> str:
    """A limit or what is used of it, with its unit."""
    if what == SiteLimit.What.SCRAPS_YEAR:
        return weight(number * 1000, building)
    return volume(number * 1000, building)


def near(state: LimitState, building: Building) -> str:
    """How near a limit is, in one sentence."""
    values = {
        "percent": state.percent,
        "what": SiteLimit.What(state.row.what).label,
        "limit": figure(state.row.what, state.figure, building),
        "used": figure(state.row.what, state.used, building),
    }
    if state.is_over:
        return _("Over the limit: %(used)s of %(limit)s (%(what)s).") % values
    return _("%(percent)s %% of a limit is used: %(used)s of %(limit)s (%(what)s).") % values


def recorded(line: Line) -> str:
    """What a line of the log says."""
    told = line.detail
    match line.kind:
        case Kind.VISIT:
            turned = _("turned") if told["turned"] else _("not turned")
            return _("%(turned)s; %(trouble)s") % {
                "turned": turned, "trouble": Visit.Trouble(str(told["trouble"])).label,
            }  # fmt: skip
        case Kind.READING:
            return _reading(str(told["kind"]), int(told["value"] or 0))
        case Kind.WRONG_ITEM:
            out = _("taken out") if told["taken_out"] else _("still inside")
            return _("%(item)s; %(out)s") % {"item": WrongItem.Item(str(told["item"])).label, "out": out}
        case Kind.REPORT | Kind.ANSWERED:
            return _("%(kind)s, number %(reference)s") % {
                "kind": Case.Kind(str(told["kind"])).label, "reference": told["reference"],
            }  # fmt: skip
    return ""


def _reading(kind: str, value: int) -> str:
    degrees = number_format(value / 10, 1)
    match kind:
        case Reading.Kind.LEVEL_PERCENT.value:
            return _("level %(n)s %%") % {"n": value}
        case Reading.Kind.DRUM_TENTHS_C.value:
            return _("%(n)s °C inside") % {"n": degrees}
        case Reading.Kind.AIR_TENTHS_C.value:
            return _("%(n)s °C beside it") % {"n": degrees}
        case Reading.Kind.SQUEEZE.value:
            return _("a handful pressed: %(how)s") % {"how": SQUEEZED[value]}
    return _("smells bad") if value else _("does not smell bad")
