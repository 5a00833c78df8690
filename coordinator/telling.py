"""One event of a batch's history as the page says it: a sentence, what it rests on, and the name beside it."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from bins.care.history import Event
from bins.decisions.gather import SQUEEZES as STORED_SQUEEZES
from bins.models import Decision, Movement, Place, Reading, StageChange, ToldSymptom
from bins.process.maturity import (
    EMERGENCE_PASSES,
    GERMINATION_MARKS,
    BagTest,
    FlaskTest,
    SeedTest,
    emergence_percent,
    germination_index,
)
from households.models import Building

from .pages.amounts import rounded, volume
from .trouble_words import SYMPTOMS
from .words import LEVELS, SQUEEZES, STAGES, TESTS, why


@dataclass(frozen=True)
class Told:
    at: dt.datetime
    what: str
    reason: str = ""
    who: str = ""


CAUSES: dict[str, Any] = {
    "begun": gettext_lazy("The tag was hung on its hatch: %(stage)s."),
    "rule": gettext_lazy("Now it is: %(stage)s."),
    "override": gettext_lazy("Called finished by a person, before the rule said so."),
    "back": gettext_lazy("Went back one step: %(stage)s."),
    "undone": gettext_lazy("Closed by mistake. It is open again."),
    "fresh": gettext_lazy("Fresh scraps went in. Its days of work count anew."),
    "merged": gettext_lazy("Another lot was put to it. Now it is: %(stage)s."),
    "harvested": gettext_lazy("It was taken out and measured."),
    "discarded": gettext_lazy("It was thrown out."),
    "retired": gettext_lazy("Its drum went out of use, so it was closed."),
}


def tell(event: Event, building: Building) -> Told:
    """The event in the reader's language."""
    row = event.row
    match row:
        case StageChange():
            stage = {"stage": STAGES[row.to_stage]}
            what = str(CAUSES.get(row.cause, CAUSES["rule"])) % stage
            if row.cause == "undone" and row.to_stage == "merged":
                what = _("Its hatch was never really open. It goes on in the lot before it.")
            reason = why(row.decision) if row.decision and row.cause in ("rule", "fresh") else row.reason
            return Told(event.at, what, reason, event.who)
        case Movement():
            return Told(event.at, _moved(row, building), row.reason, event.who)
        case Decision():
            said = _("Asked and answered: not yet.") if row.state == Decision.State.DECLINED else _("Seen and noted.")
            return Told(event.at, said, why(row), event.who)
        case _ if event.kind == "visit":
            return Told(event.at, " ".join(_read(event, building)))
        case _ if event.kind == "wrong_hatch":
            return Told(event.at, _("Wrong hatch: fresh scraps went in. No name is shown."))
    word = {"test": TESTS[getattr(row, "kind", "bag")]}
    if event.judged is None:
        return Told(event.at, _("Begun: %(test)s.") % word)
    passed = _("passed") if event.judged.passed else _("not passed")
    return Told(event.at, _("Read: %(test)s, %(passed)s.") % (word | {"passed": passed}), _seen(event.judged, building))


def place_name(place: Place) -> str:
    if place.kind == Place.Kind.CURING_BIN:
        return _("curing bin %(letter)s") % {"letter": place.letter}
    assert place.drum is not None
    return _("drum %(number)s, hatch %(letter)s") % {"number": place.drum.number, "letter": place.letter}


def degrees(tenths: int, building: Building) -> str:
    """Tenths of °C in the building's own unit."""
    if building.units == Building.Units.US:
        return _("%(n)s °F") % {"n": rounded(tenths / 10 * 9 / 5 + 32, 0)}
    return _("%(n)s °C") % {"n": rounded(tenths / 10, 1)}


def _moved(row: Movement, building: Building) -> str:
    where = {"from": place_name(row.from_place)}
    match row.kind:
        case Movement.Kind.MOVED:
            assert row.to_place is not None
            return _("Moved from %(from)s to %(to)s.") % (where | {"to": place_name(row.to_place)})
        case Movement.Kind.MERGED:
            return _("Put together with another lot of the drum, out of %(from)s.") % where
        case Movement.Kind.TAKEN_OUT:
            return _("The fresh scraps were taken out again.")
    said = {"amount": volume(row.millilitres or 0, building), "to": row.destination}
    return _("Thrown out: about %(amount)s. It went to: %(to)s.") % said


def _read(event: Event, building: Building) -> Iterator[str]:
    values = event.readings
    yield _("Visited, and turned.") if event.turned else _("Visited.")
    for symptom in event.symptoms:
        yield _("Well again.") if symptom == ToldSymptom.WELL else f"{capfirst(str(SYMPTOMS[symptom]))}."
    if (level := values.get(Reading.Kind.LEVEL_PERCENT)) is not None:
        # What was ticked is "nearly empty": nobody has seen a nought.
        yield _("%(n)s %% full.") % {"n": level} if level else f"{capfirst(LEVELS['empty'])}."
    if (inside := values.get(Reading.Kind.DRUM_TENTHS_C)) is not None:
        yield _("%(warm)s inside.") % {"warm": degrees(inside, building)}
    if (air := values.get(Reading.Kind.AIR_TENTHS_C)) is not None:
        yield _("%(warm)s in the air beside it.") % {"warm": degrees(air, building)}
    if (felt := values.get(Reading.Kind.SQUEEZE)) is not None:
        yield _("Squeeze test: %(felt)s.") % {"felt": SQUEEZES[STORED_SQUEEZES[felt]]}
    if (smell := values.get(Reading.Kind.SMELL_BAD)) is not None:
        yield _("It smelt bad.") if smell else _("It did not smell bad.")


def _seen(test: BagTest | SeedTest | FlaskTest, building: Building) -> str:
    match test:
        case BagTest():
            days = (test.read_at - test.started_at).days
            smell = _("It smelt bad.") if test.bad_smell else _("It did not smell bad.")
            return _("The bag was closed for %(days)s days.") % {"days": days} + " " + smell
        case SeedTest():
            return " ".join(_seeds_seen(test))
        case FlaskTest():
            return _(
                "The warmest was %(highest)s, the room %(room)s: self-heating class %(class)s "
                "(I is fresh, V is finished)."
            ) % {
                "highest": degrees(round(test.highest_c * 10), building),
                "room": degrees(round(test.room_c * 10), building),
                "class": test.self_heating,
            }


def _seeds_seen(test: SeedTest) -> Iterator[str]:
    yield _("%(sprouted)s of %(sown)s seeds sprouted.") % {"sprouted": test.sprouted, "sown": test.sown}
    if test.soil is None:
        return
    percent = emergence_percent(test.sown, test.sprouted, test.soil)
    yield _("That is %(percent)s %% of what sprouted in plain soil (from %(least)s %% on it passes).") % {
        "percent": rounded(float(percent), 0),
        "least": EMERGENCE_PASSES,
    }
    index = germination_index(test.sown, test.sprouted, test.soil)
    if index is not None:
        yield _("Germination index %(index)s, roots counted in (good is %(low)s, very good %(high)s).") % {
            "index": rounded(float(index), 0),
            "low": GERMINATION_MARKS[0],
            "high": GERMINATION_MARKS[1],
        }
