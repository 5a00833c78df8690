"""The visit form of one drum: its three questions, and those that a decision waits for this week, with why."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from bins.care.due import DrumWork
from bins.care.visit import LEVELS
from bins.hatch import DrumState
from bins.models import Batch, Drum, Visit
from bins.process.asking import Wanted
from households.models import Building

from ..picture import picture
from ..words import LEVELS as LEVEL_WORDS
from ..words import SQUEEZES, WANTED
from . import wrong_items

FIELDS = ("temperature", "squeeze", "smell")
ASKED_BY = {Wanted.TEMPERATURE_AFTER_TURN: "temperature", Wanted.SQUEEZE: "squeeze", Wanted.SMELL: "smell"}


@dataclass(frozen=True)
class Question:
    """What may be read of one batch. `asked`: the fields that a decision waits for; `why`: its reasons."""

    batch: Batch
    asked: frozenset[str]
    why: tuple[str, ...]
    temperature: str
    squeezes: tuple[tuple[str, str, bool], ...]
    smell: str
    errors: dict[str, str]

    @property
    def others(self) -> frozenset[str]:
        """What nobody waits for, and may be told all the same."""
        return frozenset(FIELDS) - self.asked


def raw_visit(post: Mapping[str, str], building: Building) -> dict[str, Any]:
    """A sent form in the shape that the record reads: only names are mapped."""
    readings: dict[str, dict[str, str]] = {}
    for name, value in post.items():
        field, _, batch = name.partition("-")
        if field in FIELDS and batch and value.strip():
            readings.setdefault(batch, {"batch": batch})[field] = value
    # Where hatches turn apart, each has its tick; with all of them ticked the drum was turned.
    ticked = [name.removeprefix("turned-") for name in post if name.startswith("turned-")]
    turned = {"turned": "yes", "turned_place": ticked[0] if len(ticked) == 1 else ""} if ticked else {}
    unit = "f" if building.units == Building.Units.US else "c"
    return {**post, **turned, "temperature_unit": unit, "readings": list(readings.values())}


def visit_form(
    state: DrumState, work: DrumWork, batches: list[Batch], values: Mapping[str, Any], errors: dict[str, str]
) -> dict[str, Any]:
    """All that the form of a drum shows; `values` and `errors` of the form that was sent, whichever drum's."""
    is_this = values.get("drum") == str(state.drum.uid)
    mine: Mapping[str, Any] = values if is_this else {}
    faults = errors if is_this else {}
    questions = [_question(batch, work, mine, faults) for batch in batches]
    return {
        "state": state,
        "work": work,
        "picture": picture(state),
        "uid": mine.get("uid") or str(uuid4()),
        "turned": mine.get("turned", ""),
        "turned_apart": [
            (one.place, f"turned-{one.place.uid}" in mine)
            for one in state.hatches
            if state.drum.turns == Drum.Turns.APART
        ],
        "trouble": mine.get("trouble", Visit.Trouble.NOTHING),
        "air": mine.get("air", ""),
        "levels": [(name, LEVEL_WORDS[name], name == mine.get("level")) for name in LEVELS],
        "asked": [question for question in questions if question.asked],
        "more": [question for question in questions if question.others],
        "has_more_errors": "air" in faults or any(question.others & question.errors.keys() for question in questions),
        "lots": batches,
        "asks_air": any("temperature" in question.asked for question in questions),
        "wrong": {name: mine.get(name, "") for name in wrong_items.FIELDS},
        "wrong_items": wrong_items.choices(mine.get("wrong_item", "")),
        "errors": faults,
        "is_quiet": not (faults or work.turning_due or work.asked or work.to_open),
    }


def _question(batch: Batch, work: DrumWork, mine: Mapping[str, Any], errors: dict[str, str]) -> Question:
    wanted = [what for one, what in work.asked if one.pk == batch.pk and what in ASKED_BY]
    return Question(
        batch=batch,
        asked=frozenset(ASKED_BY[what] for what in wanted),
        why=tuple(str(WANTED[what]) for what in wanted),
        temperature=mine.get(f"temperature-{batch.uid}", ""),
        squeezes=tuple((name, str(word), name == mine.get(f"squeeze-{batch.uid}")) for name, word in SQUEEZES.items()),
        smell=mine.get(f"smell-{batch.uid}", ""),
        errors={field: errors[f"{field}-{batch.uid}"] for field in FIELDS if f"{field}-{batch.uid}" in errors},
    )
