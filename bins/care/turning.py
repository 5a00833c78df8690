"""How a drum's hatches turn: the whole drum at once, or each half by itself."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.models import Drum
from bins.records import Reader, Refused
from households.ledger import open_ledger
from households.models import Audit, Building, Person


@dataclass(frozen=True)
class Turning:
    uid: UUID
    drum_uid: UUID
    turns: str  # a value of Drum.Turns

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        told = cls(reader.uid(), reader.uid("drum"), reader.choice("turns", [*Drum.Turns.values]))
        reader.finish()
        return told


def refuse_a_divided_round(split: str, turns: str) -> None:
    """Refused for a drum with a divider along its axle whose halves are said to turn apart."""
    if split == Drum.Split.ALONG and turns == Drum.Turns.APART:
        raise Refused({"turns": _("A drum that is split along its axle turns as one. Choose together.")})


def set_turning(*, building: Building, told: Turning, person: Person | None, via: str, now: dt.datetime) -> Drum:
    """Say how a drum turns; saying it again changes nothing. Turns written down before mean what they meant then.

    Raises Drum.DoesNotExist for a drum of another building, Refused for a drum whose halves can't turn apart.
    """
    with open_ledger(building):
        drum: Drum = Drum.objects.within(building).get(uid=told.drum_uid)
        refuse_a_divided_round(drum.split, told.turns)
        if drum.turns != told.turns:
            drum.turns = told.turns
            drum.save(update_fields=["turns"])
            Audit.note(building, person, "drum-turning-set", now, drum=str(drum.uid), turns=told.turns, via=via)
    return drum
