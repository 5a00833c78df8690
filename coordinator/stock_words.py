"""The store of browns in the reader's language: for how long it lasts, and what to mind."""

from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from bins.mixing.stock import StockState
from bins.process.stock import Caution
from households.models import Building

from .pages.amounts import volume

MINDS: Final[dict[Caution, Any]] = {
    Caution.CARBON_MONOXIDE: gettext_lazy(
        "A heap of pellets gives off carbon monoxide, a gas that kills and that nobody can smell. In a closed room "
        "keep pellets in their closed bags, keep few of them, and air the room before you go in."
    ),
    Caution.ESCAPE_ROUTE: gettext_lazy(
        "Never in a stairway, a corridor or another way out: browns burn, and they block the way."
    ),
    Caution.KEEP_DRY: gettext_lazy("Keep them dry and off the floor. Wet browns soak up nothing."),
}


def lasts(state: StockState) -> str:
    """For how long the store lasts, in one sentence."""
    if state.litres is None:
        return _("Nobody has counted the browns yet.")
    if state.days is None:
        return _("Nobody uses browns now, so they last.")
    if state.litres == 0:
        return _("By the record there are no browns left.")
    return ngettext(
        "The browns last for about %(days)s day.", "The browns last for about %(days)s days.", state.days
    ) % {"days": state.days}


def task(state: StockState) -> str:
    """What a low store asks for, in one sentence; empty where it asks for nothing."""
    if not state.is_low:
        return ""
    return _("%(lasts)s Order or fetch some now.") % {"lasts": lasts(state)}


def task_why(state: StockState, building: Building) -> str:
    return _("By the record %(litres)s are there. It is time to order at %(point)s.") % {
        "litres": volume((state.litres or 0) * 1000, building),
        "point": volume(state.reorder_at * 1000, building),
    }
