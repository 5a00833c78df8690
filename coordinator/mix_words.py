"""What the mix room says -> sentences in the reader's language."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from bins.mixing.browns import Advice
from bins.mixing.mixing import CorrectionTask
from bins.process.amendment import Goal, NotAchievable
from bins.process.browns import SignNumber
from bins.process.mix import MOISTURE_BEST, MOISTURE_GOOD
from households.models import Building, Site

from .pages.amounts import cup, rounded, volume
from .words import mixed


def cups(half_cups: int) -> str:
    """A number of half cups in words: 4 -> 2 cups, 3 -> 1½ cups."""
    if half_cups == 1:
        return _("half a cup")
    return ngettext("%(n)s cup", "%(n)s cups", (half_cups + 1) // 2) % {"n": halves(half_cups)}


def halves(half_cups: int) -> str:
    """A number of half cups as a figure: 3 -> 1½."""
    whole, half = divmod(half_cups, 2)
    return mixed(whole, "½") if half else str(whole)


def kind(code: str) -> Any:
    """The plain word for a kind of browns."""
    return Site.Browns(code).label


def advice(found: Advice, building: Building) -> str:
    """What is advised for a site, or why nothing is and what would do."""
    if isinstance(found.says, SignNumber):
        if not found.differs:
            return _("The number on the sign is the one we advise.")
        values = {"cups": cups(found.says.half_cups)}
        if found.says.preferred:
            return _("We advise %(cups)s for each full pail. That mix works best.") % values
        if found.says.moisture > MOISTURE_BEST.high:
            return _("We advise %(cups)s for each full pail. That mix will do; it stays a bit wet.") % values
        return _("We advise %(cups)s for each full pail. That mix will do.") % values
    if found.says.goal is Goal.CUP_TOO_SMALL:
        return _("With this cup it takes more cups than anybody counts. A cup of %(cup)s or more would do.") % {
            "cup": cup(round(1000 * (found.says.least_cup_litres or 0)), building)
        }
    return _cannot(found.says, found.site.browns)


def mix_figures(found: SignNumber) -> dict[str, str]:
    """Moisture and C:N of the advised mix, as short figures."""
    low, high = (rounded(value, 0) for value in (found.available_c_to_n, found.c_to_n))
    return {
        "moisture_percent": rounded(100 * found.moisture, 0),
        "c_to_n": low if low == high else f"{low}-{high}",
    }


def correction(task: CorrectionTask, building: Building) -> str:
    """What to add to which hatch, as the heading of a task."""
    hatch = task.state.open
    assert hatch is not None  # a task stands for an open hatch
    values = {"number": task.state.drum.number, "letter": hatch.place.letter, "kind": kind(task.kind)}
    if isinstance(task.says, NotAchievable):
        return _("Drum %(number)s, hatch %(letter)s: this lot is out of balance.") % values
    values["browns"] = volume(task.says.browns_litres * 1000, building)
    values["water"] = volume(task.says.water_litres * 1000, building)
    if task.says.browns_litres and task.says.water_litres:
        return (
            _("Add %(browns)s of %(kind)s and %(water)s of water to drum %(number)s, hatch %(letter)s, and turn it.")
            % values
        )
    if task.says.water_litres:
        return _("Add %(water)s of water to drum %(number)s, hatch %(letter)s, and turn it.") % values
    return _("Add %(browns)s of %(kind)s to drum %(number)s, hatch %(letter)s, and turn it.") % values


def correction_why(task: CorrectionTask) -> str:
    """What the correction rests on."""
    if isinstance(task.says, NotAchievable):
        return _cannot(task.says, task.kind)
    values = {
        "before": rounded(100 * task.says.moisture_before, 0),
        "after": rounded(100 * task.says.moisture_after, 0),
    }
    said: str = (
        _(
            "By what was brought, about %(before)s %% of this lot is water. That brings it to about %(after)s %%; "
            "50 to 60 %% is best."
        )
        % values
    )
    if MOISTURE_GOOD.low <= task.says.moisture_before <= MOISTURE_GOOD.high:
        return said  # it is for the nitrogen, which no hand can feel
    # The books don't know what has dried or drained since; one or two drops are 50-60 % (LSU AgCenter).
    return said + " " + _("Press a handful hard first: if one or two drops come, it is right as it is.")


def _cannot(says: NotAchievable, code: str) -> str:
    if says.ingredient is None:
        return _("No amount of browns that fits in can put it right. Bring fewer wet scraps, or wait until it sinks.")
    return _("No amount of %(kind)s can put it right. This would: %(other)s.") % {
        "kind": kind(code),
        "other": kind(says.ingredient),
    }
