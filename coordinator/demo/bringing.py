"""Households bring their scraps, one of them once into the wrong hatch; ten pails are weighed."""

import datetime as dt

from bins.hatch import DrumState, drum_states
from bins.intake.dropoff import DropOff, record_drop_off
from bins.mixing.weighing import Weighing, accept_weight, pail_states, weigh_pail
from bins.models import Pail
from bins.process.stage import Stage
from households.models import Building, Person

from . import people
from .block import uid
from .habits import Brought, brings

WEIGHED_FROM, WEIGHED_DAYS = (30, 225, 410), 10  # each half-year a full pail a day
EMPTY_PAIL_G = 450
WRONG_FLAT, WRONG_DAYS = 3, range(102, 109)  # whoever lives there takes the wrong hatch in one week


def bring(here: Building, number: int, now: dt.datetime) -> None:
    """Everybody whose day it is brings to the open hatch; where none is open they go to the way out."""
    states = {state.drum.uid: state for state in drum_states(here)}
    for flat, person in people.taking_part(here).items():
        brought = brings(flat, number)
        state = states[people.drum_of(here, person)]
        if brought is not None and state.open is not None:
            at = now + dt.timedelta(minutes=9 * flat)
            told = DropOff.from_raw(_raw(brought, state, number, flat))
            record_drop_off(
                building=here, told=told, household=person.household, person=person, via="web", now=at
            )  # fmt: skip


def weigh(here: Building, wanda: Person, number: int, now: dt.datetime) -> None:
    """Ten full pails on the scale, each half-year, and the yes to what they come to."""
    if any(first <= number < first + WEIGHED_DAYS for first in WEIGHED_FROM):
        grams = 3500 + number * 13 % 10 * 60
        pail = Pail.objects.within(here).get(number=1)
        told = Weighing.from_raw(
            {
                "uid": str(uid(f"weighed {number}")),
                "pail": str(pail.uid),
                "full_kg": (grams + EMPTY_PAIL_G) / 1000,
                "empty_kg": EMPTY_PAIL_G / 1000,
            }
        )
        weigh_pail(building=here, told=told, person=wanda, via="web", now=now)
    if number - WEIGHED_DAYS in WEIGHED_FROM:
        (state,) = pail_states(here, now)
        assert state.proposed_g_per_l is not None  # ten were weighed
        accept_weight(building=here, uid=state.pail.uid, g_per_l=state.proposed_g_per_l, person=wanda, now=now)


def _raw(brought: Brought, state: DrumState, number: int, flat: int) -> dict[str, str | float]:
    raw: dict[str, str | float] = {
        "uid": str(uid(f"pail {number} {flat}")),
        "drum": str(state.drum.uid),
        "browns_cups": brought.browns_cups,
    }
    if flat == WRONG_FLAT and number in WRONG_DAYS and (shut := _shut_hatch(state)):
        raw |= {"place": shut, "quarter_pails": 1}
    elif brought.grams is not None:
        raw["kilograms"] = brought.grams / 1000
    else:
        raw |= {"quarter_pails": brought.quarter_pails, "known": "guessed" if brought.is_guess else "counted"}
    return raw


def _shut_hatch(state: DrumState) -> str:
    """The hatch of a drum that works with its tag off; nothing where there is none."""
    working = (one for one in state.hatches if one.batch is not None and one.batch.stage == Stage.COMPOSTING)
    found = next(working, None)
    return str(found.place.uid) if found else ""
