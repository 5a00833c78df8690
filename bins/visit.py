"""What can be done with a care visit: record it once, with the level of the open hatch."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from bins.models import Batch, Drum, Reading, Visit, VisitAttribution
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Building, Person

from .records import Reader

# What a person tells by looking into the open hatch: nearer than a quarter nobody sees.
LEVELS = {"empty": 0, "quarter": 25, "half": 50, "three_quarters": 75, "full": 100}


@dataclass(frozen=True)
class CareVisit:
    """One visit to one drum as it was told: turned or not, level of the open hatch, anything wrong."""

    uid: UUID
    drum_uid: UUID
    happened_at: dt.datetime | None
    turned: bool
    level: str  # a key of LEVELS, or empty where nobody looked
    trouble: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named."""
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        found = cls(
            uid=reader.uid(),
            drum_uid=reader.uid("drum"),
            happened_at=None if happened_at == nothing else happened_at,
            turned=reader.yes("turned"),
            level=reader.choice("level", [*LEVELS]) if raw.get("level") else "",
            trouble=reader.choice("trouble", [*Visit.Trouble.values], Visit.Trouble.NOTHING),
        )
        reader.finish()
        return found


@dataclass(frozen=True)
class Recorded:
    row: Visit
    is_new: bool


def record_visit(*, building: Building, told: CareVisit, person: Person | None, via: str, now: dt.datetime) -> Recorded:
    """Add one visit and its level reading to the books; the same uid and values give what stands there.

    Raises Drum.DoesNotExist for a drum of another building, UidReused for a uid with other values.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if row := already(Visit, building, told.uid, print_):
            return Recorded(row, is_new=False)
        drum = Drum.objects.within(building).get(uid=told.drum_uid)
        when = asdict(times(told.happened_at or now, now))
        row = ledger.add(
            Visit(
                uid=told.uid, fingerprint=print_, **when, via=via, drum=drum, turned=told.turned, trouble=told.trouble
            )
        )
        VisitAttribution.objects.create(
            building=building,
            uid=uuid5(row.uid, "attribution"),
            row=row,
            household=person.household if person else None,
            person=person,
        )
        batch = Batch.objects.within(building).filter(drum=drum).filling_at(row.counts_at).first()
        if told.level and batch is not None:
            ledger.add(
                Reading(
                    uid=uuid5(row.uid, Reading.Kind.LEVEL_PERCENT),
                    fingerprint=print_,
                    **when,
                    via=via,
                    visit=row,
                    batch=batch,
                    kind=Reading.Kind.LEVEL_PERCENT,
                    value=LEVELS[told.level],
                )
            )
    return Recorded(row, is_new=True)
