"""Evidence and remedies of a trouble -> sentences in the reader's language."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from bins.models import Batch, Decision, Visit
from bins.process.causes import Cause
from bins.process.diagnosis import Clue
from bins.process.findings import Band
from bins.process.proposal import Rule
from bins.process.remedies import FIGURE_OF, Act, steps
from bins.process.stage import Stage
from bins.process.symptom import Symptom
from households.models import Building

from .cause_words import clause
from .pages.amounts import volume

SYMPTOMS: dict[str, Any] = {str(one): Visit.Trouble(str(one)).label for one in Symptom}

BANDS: dict[Band, Any] = {
    Band.SQUEEZE_DRY: gettext_lazy("Pressed hard, a handful crumbles or is dusty."),
    Band.SQUEEZE_RIGHT: gettext_lazy("Pressed hard, a handful gives one or two drops."),
    Band.SQUEEZE_WET: gettext_lazy("Pressed hard, water runs out of a handful."),
    Band.NO_WARMTH: gettext_lazy("It is hardly warmer than the air."),
    Band.WARM: gettext_lazy("It is warmer than the air."),
    Band.HOT: gettext_lazy("It is hot."),
    Band.OVER_65: gettext_lazy("It is over 65 °C (149 °F)."),
    Band.AIR_COLD: gettext_lazy("The air is below 10 °C (50 °F)."),
    Band.AIR_MILD: gettext_lazy("The air is mild."),
    Band.LEVEL_LOW: gettext_lazy("It is less than a quarter full."),
    Band.LEVEL_MIDDLE: gettext_lazy("It is neither nearly empty nor full."),
    Band.LEVEL_HIGH: gettext_lazy("It is nearly full."),
    Band.BROWNS_FEW: gettext_lazy("By the record, few browns went in."),
    Band.BROWNS_RIGHT: gettext_lazy("By the record, browns and scraps went in in balance."),
    Band.BROWNS_MANY: gettext_lazy("By the record, many browns and few scraps went in."),
    Band.TURNED_LATELY: gettext_lazy("It was turned within the last week."),
    Band.TURNED_A_WHILE_AGO: gettext_lazy("It was last turned more than a week ago."),
    Band.TURNED_LONG_AGO: gettext_lazy("It was last turned two weeks ago or earlier."),
    Band.OPEN_NEWLY: gettext_lazy("It was begun within the last three weeks."),
    Band.OPEN: gettext_lazy("It has been open for more than three weeks."),
    Band.CLOSED: gettext_lazy("It was closed less than eight weeks ago."),
    Band.CLOSED_LONG: gettext_lazy("It was closed eight weeks ago or earlier."),
    Band.RESTING: gettext_lazy("It is resting."),
    Band.FRESH: gettext_lazy("Fresh scraps went in after it was closed."),
}

# What is said without a figure, and with one (as %(amount)s, with %(kind)s for the browns).
PLAIN: dict[Act, Any] = {
    Act.SHUT: gettext_lazy(
        "Did you see it yourself? Then shut both hatches. Until somebody looks and opens them by name, the pages show "
        "the way out."
    ),
    Act.CLOSE_GAPS: gettext_lazy(
        "Close every gap wider than 5 mm (less than a pencil) with metal plate or fine metal mesh."
    ),
    Act.PEST_CONTROL: gettext_lazy("Call the building's licensed pest control. Lay out no poison and no trap."),
    Act.STOP_ADDING: gettext_lazy("Put nothing more into this hatch."),
    Act.ADD_BROWNS: gettext_lazy(
        "Add dry browns, a few handfuls at a time, until a handful pressed hard gives one or two drops."
    ),
    Act.ADD_WATER: gettext_lazy("Pour on a little water and turn, until it feels like a wrung-out sponge."),
    Act.ADD_SCRAPS: gettext_lazy("Let the next pails of kitchen scraps in without browns."),
    Act.FILL_UP: gettext_lazy("Go on filling it. Half full, it keeps some warmth."),
    Act.COVER: gettext_lazy("Cover the scraps with dry browns, and each pail from now on."),
    Act.BREAK_UP: gettext_lazy(
        "Lock the drum. Break up the lumps with a fork. Wear gloves that resist cuts; if it is dusty, damp it first "
        "and wear a mask."
    ),
    Act.JOIN_OPEN: gettext_lazy("Nothing fresh goes into a closed lot. Wait, or put it together with the open one."),
    Act.LEAVE_LARVAE: gettext_lazy(
        "Leave them alone. They eat scraps fast, do not bite, and keep house flies away. They leave by themselves."
    ),
    Act.WAIT_FOR_WARMTH: gettext_lazy(
        "Wait: it goes on by itself when it gets warmer. Do not turn it while it is frozen."
    ),
    Act.MEND: gettext_lazy(
        "Lock the drum. Have somebody look at axle, bearings, latches and seals before it is turned again."
    ),
    Act.SIEVE: gettext_lazy(
        "Sieve it when it is finished and put the big pieces back into the open hatch. Wear gloves and a mask, and "
        "damp it first."
    ),
    Act.TEST: gettext_lazy(
        "Begin a flask test: a moist handful in a thermos flask with a thermometer, for some days. It shows whether "
        "it is finished."
    ),
}
MEASURED: dict[Act, Any] = {
    Act.ADD_BROWNS: gettext_lazy("Add %(amount)s of browns (%(kind)s)."),
    Act.ADD_WATER: gettext_lazy("Pour on %(amount)s of water: half of it, turn, then the rest."),
    Act.ADD_SCRAPS: gettext_lazy("Let the next %(amount)s of kitchen scraps in without browns."),
    Act.FILL_UP: gettext_lazy("Go on filling it. With about %(amount)s more it is half full and keeps some warmth."),
    Act.COVER: gettext_lazy("Cover the scraps with %(amount)s of browns (%(kind)s), and each pail from now on."),
    Act.TAKE_OUT: gettext_lazy("Take out about %(amount)s, so that it is three quarters full and can tumble."),
}

# Cautions that belong to what was seen, beside those of turning.
CAUTIONS: dict[Symptom, Any] = {
    Symptom.LEAKING: gettext_lazy(
        "Dark liquid: never on leaves that are eaten. In doubt back into the drum, or into the sewer where that is "
        "allowed. Wipe up leaks, so that nobody slips."
    ),
    Symptom.DRY: gettext_lazy(
        "Dust from dry compost carries mould. Damp it before you stir, and wear a mask. With asthma or weak defences, "
        "or if you are pregnant, let somebody else do it."
    ),
    Symptom.RODENTS: gettext_lazy("Touch no droppings with bare hands, and wash your hands afterwards."),
}
ALSO_CAUTION = {Symptom.WET: Symptom.LEAKING, Symptom.MATTED: Symptom.DRY, Symptom.ANIMALS: Symptom.RODENTS}


@dataclass(frozen=True)
class Shown:
    """A proposal about a trouble as a list shows it."""

    clause: str
    steps: tuple[str, ...]
    shuts: bool


def shown(decision: Decision, building: Building) -> Shown | None:
    """None for another rule's proposal. Needs the batch with its drum and site."""
    if decision.rule != Rule.TROUBLE:
        return None
    cause = Cause(decision.reason)
    acts = steps(cause, decision.figures, is_filling=decision.batch.stage == Stage.FILLING)
    return Shown(clause(cause), remedy(cause, decision.figures, decision.batch, building), Act.SHUT in acts)


def clue(found: Clue) -> str:
    """A clue as a sentence."""
    if isinstance(found, Band):
        return str(BANDS[found])
    return f"{capfirst(str(SYMPTOMS[found]))}."


def remedy(cause: Cause, figures: Mapping[str, float], batch: Batch, building: Building) -> tuple[str, ...]:
    """What to do, step by step. Needs the batch with its drum and site."""
    found: list[str] = []
    for act in steps(cause, figures, is_filling=batch.stage == Stage.FILLING):
        found.append(_step(act, figures, batch, building))
        if act is Act.ADD_BROWNS and figures.get("lacking_litres"):
            more = {"amount": volume(round(1000 * figures["lacking_litres"]), building)}
            found.append(
                _(
                    "More does not fit now. Once it has sunk, press a handful again: if water still runs out, about "
                    "%(amount)s more are needed."
                )
                % more
            )
    return tuple(found)


def cautions(symptoms: frozenset[Symptom]) -> tuple[str, ...]:
    """What to mind with what was seen."""
    meant = {ALSO_CAUTION.get(symptom, symptom) for symptom in symptoms}
    return tuple(str(text) for symptom, text in CAUTIONS.items() if symptom in meant)


def _step(act: Act, figures: Mapping[str, float], batch: Batch, building: Building) -> str:
    figure = figures.get(FIGURE_OF.get(act, ""))
    if figure is None:
        return str(PLAIN[act])
    number = round(figure)
    match act:
        case Act.TURN:
            return ngettext(
                "Close and latch both hatches, stand clear, and turn it %(n)s time.",
                "Close and latch both hatches, stand clear, and turn it %(n)s times.",
                number,
            ) % {"n": number}
        case Act.TURN_AGAIN:
            return ngettext(
                "Turn it again every day for a week.", "Turn it again every %(n)s days for a week.", number
            ) % {"n": number}
        case Act.WAIT:
            return ngettext(
                "Wait. By the rules it needs about %(n)s more day.",
                "Wait. By the rules it needs about %(n)s more days.",
                number,
            ) % {"n": number}
    return str(MEASURED[act]) % {
        "amount": volume(1000 * number, building),
        "kind": batch.drum.site.get_browns_display(),
    }
