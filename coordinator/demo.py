"""The invented block: its last weeks replayed day by day through the same services and the same nights.

Nothing here is drawn at random and no row is written by hand, so what a visitor sees is what the rules made.
"""

import datetime as dt
from uuid import UUID, uuid5

from bins.care.visit import LEVELS, CareVisit, record_visit
from bins.decisions.settle import confirm
from bins.founding.block import Block
from bins.founding.founding import Founded, found_block
from bins.hatch import DrumState, drum_states
from bins.intake.dropoff import DropOff, record_drop_off
from bins.models import Assignment, Contribution, Decision
from bins.people.joining import Joining, assign, join
from households.models import Account, Building, Person
from households.people import Newcomer
from households.tenancy import inside

from .jobs.run import run_due

DAYS = 42
UID = UUID("7d5c3a10-2f4b-4e7c-9a51-0c0ffee0b10c")
HOUSEHOLDS = 14  # that take part, of 28 in the house
DRUM_OF = (1, 1, 2, 1, 2, 3, 1, 2, 1, 3, 1, 2, 3, 2)  # uneven, so that the drums differ in stage
SETTLED = 0.5  # chosen: a pail sinks to half its volume within the week
ACCOUNTS = ("Wanda", "Imani", "Tomasz", "Yusra")


def is_empty() -> bool:
    """Whether the database has no people yet: the demo never joins anybody's own data."""
    return not Account.objects.exists()


def play(now: dt.datetime) -> Founded:
    """Found the block `DAYS` ago and live through every day until `now`. Marks its accounts as demo."""
    begin = (now - dt.timedelta(days=DAYS)).replace(hour=8, minute=0, second=0, microsecond=0)
    founded = _found(begin)
    with inside(founded.building.uid) as here:
        people = _move_in(here, founded, begin)
    for day in range(DAYS):
        morning = begin + dt.timedelta(days=day)
        run_due(morning)  # the night before, as it would have run
        with inside(founded.building.uid) as here:
            _care(here, founded.person, day, morning)
            _bring(here, people, day, morning + dt.timedelta(hours=9))
    run_due(now)
    Account.objects.filter(email__endswith="@demo.invalid").update(is_demo=True)
    return founded


def _found(at: dt.datetime) -> Founded:
    block = Block(
        uid=UID,
        name="Kettle Row 14",
        time_zone="Europe/Berlin",
        language="en",
        units="metric",
        site="Courtyard",
        air="outdoors",
        fallback="the brown bin by the gate",
        drums=3,
        chamber_litres=150,
        split="across",
        person="Wanda",
        household="",
    )
    return found_block(block=block, email="wanda@demo.invalid", now=at)


def _move_in(here: Building, founded: Founded, at: dt.datetime) -> list[Person]:
    names = ("Imani", "Tomasz", "Sorin", "Bettina", "Olu", "Petra", "Nadim", "Greta", "Yannick", "Salome")
    residents = [*names, *(f"Household {n}" for n in range(len(names) + 1, HOUSEHOLDS + 1))]
    people = []
    for number, name in enumerate(residents, start=1):
        email = f"{name.lower()}@demo.invalid" if name in ACCOUNTS else ""
        told = Newcomer(name, f"Flat {number}", email, ("resident",), "en")
        person = join(building=here, told=Joining(uuid5(UID, name), told), by=founded.person, now=at)
        assert person.household is not None
        assign(here, person.household, founded.drums[DRUM_OF[number - 1] - 1])
        people.append(person)
    committee = Newcomer("Yusra", "", "yusra@demo.invalid", ("committee",), "en")
    join(building=here, told=Joining(uuid5(UID, "Yusra"), committee), by=founded.person, now=at)
    return people


def _bring(here: Building, people: list[Person], day: int, at: dt.datetime) -> None:
    """Every household comes about twice a week, some with half a pail, a few with a kitchen scale."""
    drums = {row.household_id: row.drum for row in Assignment.objects.within(here).select_related("drum")}
    for number, person in enumerate(people):
        if (day * 2 + number * 3) % 7 > 1:
            continue
        raw = {
            "uid": str(uuid5(UID, f"pail {day} {number}")),
            "drum": str(drums[person.household_id].uid),
            "browns_cups": (day + number) % 3,
        }
        amount = {"kilograms": 2.1 + number / 10} if number % 5 == 4 else {"quarter_pails": 4 - 2 * (day % 2)}
        record_drop_off(
            building=here,
            told=DropOff.from_raw(raw | amount),
            household=person.household,
            person=person,
            via="web",
            now=at + dt.timedelta(minutes=7 * number),
        )


def _care(here: Building, caretaker: Person, day: int, at: dt.datetime) -> None:
    """Tags asked for more than two days ago are moved; each drum is turned and looked into every third day."""
    asked = Decision.objects.within(here).proposed().filter(made_at__lt=at - dt.timedelta(days=2))
    for decision in asked.filter(next_place__isnull=False):
        confirm(building=here, uid=decision.uid, person=caretaker, via="web", now=at)
    for state in drum_states(here):
        if (day + state.drum.number) % 3:
            continue
        raw = {
            "uid": str(uuid5(UID, f"visit {day} {state.drum.number}")),
            "drum": str(state.drum.uid),
            "turned": "yes",
            "level": _level(here, state),
        }
        record_visit(
            building=here,
            told=CareVisit.from_raw(raw),
            person=caretaker,
            via="web",
            now=at + dt.timedelta(minutes=10 * state.drum.number),
        )


def _level(here: Building, state: DrumState) -> str:
    """What Wanda sees in the open hatch: what was brought, settled, to the nearest quarter below."""
    if state.open is None or state.open.batch is None:
        return ""
    rows = Contribution.objects.within(here).filter(batch=state.open.batch)
    millilitres = sum(row.scraps_ml + row.browns_ml for row in rows) * SETTLED
    percent = millilitres / (state.open.place.litres * 10)
    return max((name for name in LEVELS if LEVELS[name] <= max(percent, 0)), key=LEVELS.__getitem__)
