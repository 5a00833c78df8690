"""What happened to a batch, newest first: stages with reasons and names, readings, tests, moves, answers."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field

from bins.decisions.gather import as_test, place_at
from bins.models import (
    Batch,
    Contribution,
    Decision,
    MaturityTest,
    Movement,
    MovementAttribution,
    Reading,
    StageChange,
    StageChangeAttribution,
    ToldSymptom,
)
from bins.process.maturity import MaturityTest as Judged
from households.models import Building

MOST_READINGS = 400  # chosen: a year of weekly visits; what is older stands in the export
STANDS = {"reverses__isnull": True, "reversed_by__isnull": True}


@dataclass(frozen=True)
class Event:
    """One thing that happened: which kind, the row it rests on, and the name of who said so, if it is kept."""

    at: dt.datetime
    kind: str  # stage, visit, test, movement, decision, wrong_hatch
    row: StageChange | MaturityTest | Movement | Decision | Contribution | None = None
    who: str = ""
    readings: dict[str, int] = field(default_factory=dict)  # of a visit: kind -> value
    symptoms: tuple[str, ...] = ()  # of a visit: what was told to be wrong, or "well"
    turned: bool = False
    judged: Judged | None = None  # of a test that was read


def history(building: Building, batch: Batch) -> tuple[Event, ...]:
    """Everything kept about one batch, newest first; ten queries however long it is.

    Names stand only beside what a person said against or instead of a rule, a move, or an answer. Drop-offs are
    not in it, but for those in a wrong hatch, and those without a household.
    """
    events = [
        *_stages(building, batch),
        *_visits(building, batch),
        *_tests(building, batch),
        *_movements(building, batch),
        *_answers(building, batch),
        *(
            Event(row.counts_at, "wrong_hatch", row)
            for row in Contribution.objects.within(building)
            .filter(batch=batch, place__isnull=False, **STANDS)
            .select_related("place")
        ),
    ]
    return tuple(sorted(events, key=lambda event: event.at, reverse=True))


def _stages(building: Building, batch: Batch) -> list[Event]:
    names = dict(
        StageChangeAttribution.objects.within(building)
        .filter(row__batch=batch, person__isnull=False)
        .values_list("row", "person__name")
    )
    rows = StageChange.objects.within(building).filter(batch=batch, **STANDS).select_related("place", "decision")
    return [Event(row.counts_at, "stage", row, who=names.get(row.pk, "")) for row in rows.order_by("-ledger_number")]


def _movements(building: Building, batch: Batch) -> list[Event]:
    names = dict(
        MovementAttribution.objects.within(building)
        .filter(row__batch=batch, person__isnull=False)
        .values_list("row", "person__name")
    )
    rows = Movement.objects.within(building).filter(batch=batch, **STANDS)
    return [
        Event(row.counts_at, "movement", row, who=names.get(row.pk, ""))
        for row in rows.select_related("from_place__drum", "to_place__drum", "into")
    ]


def _visits(building: Building, batch: Batch) -> list[Event]:
    moves = list(Movement.objects.within(building).filter(batch=batch, **STANDS).order_by("counts_at", "ledger_number"))
    values: defaultdict[int, dict[str, int]] = defaultdict(dict)
    told: defaultdict[int, list[str]] = defaultdict(list)
    first: dict[int, Reading | ToldSymptom] = {}
    rows = Reading.objects.within(building).filter(batch=batch, **STANDS).select_related("visit")
    for reading in rows.order_by("-counts_at", "-pk")[:MOST_READINGS]:
        values[reading.visit_id][reading.kind] = reading.value
        first.setdefault(reading.visit_id, reading)
    symptoms = ToldSymptom.objects.within(building).filter(batch=batch, **STANDS).select_related("visit")
    for symptom in symptoms.order_by("-counts_at", "pk")[:MOST_READINGS]:
        told[symptom.visit_id].append(symptom.kind)
        first.setdefault(symptom.visit_id, symptom)
    return [
        Event(
            row.counts_at,
            "visit",
            readings=values[visit],
            symptoms=tuple(told[visit]),
            turned=row.visit.turned_in(place_at(batch, moves, row.counts_at)),
        )
        for visit, row in first.items()
    ]


def _tests(building: Building, batch: Batch) -> list[Event]:
    found = []
    for test in MaturityTest.objects.within(building).filter(batch=batch, **STANDS).select_related("result"):
        result = getattr(test, "result", None)
        found.append(Event(test.counts_at, "test", test))
        if result is not None:
            result.test = test
            found.append(Event(result.counts_at, "test_read", test, judged=as_test(result)))
    return found


def _answers(building: Building, batch: Batch) -> list[Event]:
    """Proposals that were declined or seen; an applied one that moved the batch stands with its stage."""
    rows = (
        Decision.objects.within(building)
        .filter(batch=batch, state__in=[Decision.State.APPLIED, Decision.State.DECLINED])
        .select_related("settled_by", "next_place")
    )
    return [
        Event(row.settled_at, "decision", row, who=row.settled_by.name if row.settled_by else "")
        for row in rows
        if row.state == Decision.State.DECLINED or row.from_stage == row.to_stage
    ]
