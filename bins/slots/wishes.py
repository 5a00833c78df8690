"""What a household likes and cannot, slot by slot and duty by duty, and how often it comes."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.records import Reader, Refused
from bins.slots.ahead import open_slots
from households.ledger import open_ledger
from households.models import Building, DutyKind, Household, Slot, Wish

# How often, in four weeks: several times a week, once a week, every other week, once a month.
OFTEN = (8, 4, 2, 1)
PREFIX = "wish-"


@dataclass(frozen=True)
class Wishes:
    """Answers by the uid of a slot or of a kind of duty; visits in four weeks, None where not told."""

    visits_in_four_weeks: int | None
    answers: tuple[tuple[UUID, str], ...]

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: visits_in_four_weeks (1 to 28), and `wish-<uid>`: prefer, can or cannot.

        Raises Refused with every fault named.
        """
        reader = Reader(raw)
        answers = []
        for name in sorted(str(name) for name in raw if str(name).startswith(PREFIX)):
            answer = reader.choice(name, list(Wish.Answer.values))
            try:
                answers.append((UUID(name.removeprefix(PREFIX)), answer))
            except ValueError:
                reader.errors[name] = _("That is not on the list.")
        told = cls(reader.whole("visits_in_four_weeks", 1, 28), tuple(answers))
        reader.finish()
        return told


@dataclass(frozen=True)
class Asked:
    """One thing to answer, with the answer in force."""

    thing: Slot | DutyKind
    answer: str


def wishes_of(building: Building, household: Household, on: dt.date) -> list[Asked]:
    """Every slot and kind of duty that there is on a day, with the household's answer. Three queries."""
    told = Wish.objects.within(building).filter(household=household)
    by_slot, by_kind = {}, {}
    for wish in told:
        if wish.slot_id is not None:
            by_slot[wish.slot_id] = wish.answer
        else:
            by_kind[wish.duty_kind_id] = wish.answer
    kinds = DutyKind.objects.within(building).filter(is_on=True).select_related("site").order_by("site__name", "pk")
    return [
        *(Asked(slot, by_slot.get(slot.pk, Wish.Answer.CAN)) for slot in open_slots(building, on)),
        *(Asked(kind, by_kind.get(kind.pk, Wish.Answer.CAN)) for kind in kinds),
    ]


def set_wishes(*, building: Building, household: Household, told: Wishes, now: dt.datetime) -> None:
    """Keep the answers; what is not named stays as it was. Raises Refused for a thing that isn't there."""
    with open_ledger(building) as ledger:
        slots = {slot.uid: slot for slot in open_slots(building, building.local(now).date())}
        kinds = {kind.uid: kind for kind in DutyKind.objects.within(building).filter(is_on=True)}
        unknown = {
            f"{PREFIX}{uid}": _("That is not on the list.")
            for uid, _answer in told.answers
            if uid not in slots and uid not in kinds
        }
        if unknown:
            raise Refused(unknown)
        for uid, answer in told.answers:
            Wish.objects.update_or_create(
                building=ledger.building,
                household=household,
                slot=slots.get(uid),
                duty_kind=kinds.get(uid),
                defaults={"answer": answer},
                create_defaults={"answer": answer, "uid": uuid5(household.uid, f"wish {uid}")},
            )
        household.visits_in_four_weeks = told.visits_in_four_weeks
        household.save(update_fields=["visits_in_four_weeks"])
