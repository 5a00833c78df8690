"""What can be done with a care visit: record it once, with all that was read at the drum."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.decisions.gather import SQUEEZES
from bins.models import Batch, Drum, Reading, Visit, VisitAttribution
from bins.process.reading import Squeeze
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import Ledger, already, fingerprint, open_ledger, times
from households.models import Building, Person

# What a person tells by looking into the open hatch: nearer than a quarter nobody sees.
LEVELS = {"empty": 0, "quarter": 25, "half": 50, "three_quarters": 75, "full": 100}
SMELLS = {"no": 0, "yes": 1}
LOWEST_TENTHS_C, HIGHEST_TENTHS_C = -600, 1000


@dataclass(frozen=True)
class BatchReading:
    """What was read of one batch; None or empty where nobody measured."""

    batch_uid: UUID
    drum_tenths_c: int | None
    squeeze: str  # a Squeeze, or empty
    smell: str  # a key of SMELLS ("yes": bad), or empty


@dataclass(frozen=True)
class CareVisit:
    """One visit to one drum as it was told: turned or not, level of the open hatch, anything wrong, readings."""

    uid: UUID
    drum_uid: UUID
    happened_at: dt.datetime | None
    turned: bool
    level: str  # a key of LEVELS, or empty where nobody looked
    trouble: str
    air_tenths_c: int | None = None  # beside the drum
    readings: tuple[BatchReading, ...] = ()

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named.

        temperature_unit: c (default) or f, for `air` and each reading's `temperature`; stored in tenths of °C.
        readings: mappings with `batch` and any of `temperature`, `squeeze`, `smell`; a fault is named with its
        batch, as `temperature-<batch>`.
        """
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        unit = reader.choice("temperature_unit", ["c", "f"], "c")
        told = raw.get("readings") or ()
        if not isinstance(told, list | tuple) or not all(isinstance(one, Mapping) for one in told):
            reader.errors["readings"] = _("A list of readings, each with its batch, is needed.")
            told = ()
        found = cls(
            uid=reader.uid(),
            drum_uid=reader.uid("drum"),
            happened_at=None if happened_at == nothing else happened_at,
            turned=reader.yes("turned"),
            level=reader.choice("level", [*LEVELS]) if raw.get("level") else "",
            trouble=reader.choice("trouble", [*Visit.Trouble.values], Visit.Trouble.NOTHING),
            air_tenths_c=temperature(reader, "air", unit),
            readings=tuple(_reading(one, unit, reader.errors) for one in told),
        )
        if len({one.batch_uid for one in found.readings}) != len(found.readings):
            reader.errors["readings"] = _("Each batch is named once.")
        reader.finish()
        return found


@dataclass(frozen=True)
class Recorded:
    row: Visit
    is_new: bool


def record_visit(*, building: Building, told: CareVisit, person: Person | None, via: str, now: dt.datetime) -> Recorded:
    """Add one visit and its readings to the books; the same uid and values give what stands there.

    Raises Drum.DoesNotExist for a drum of another building, Refused for a reading of a batch that was not in
    this drum's care, UidReused for a uid with other values.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(Visit, building, told.uid, print_):
            return Recorded(known, is_new=False)
        drum = Drum.objects.within(building).get(uid=told.drum_uid)
        return Recorded(add_visit(ledger, told, drum, person, via, now, print_), is_new=True)


def add_visit(
    ledger: Ledger, told: CareVisit, drum: Drum, person: Person | None, via: str, now: dt.datetime, print_: str
) -> Visit:
    """The rows of a visit that is new, in an open book."""
    when = asdict(times(told.happened_at or now, now, via))
    row = ledger.add(
        Visit(uid=told.uid, fingerprint=print_, **when, via=via, drum=drum, turned=told.turned, trouble=told.trouble)
    )
    sign(VisitAttribution, row, person)
    batches = Batch.objects.within(ledger.building).filter(drum=drum)
    living = {batch.uid: batch for batch in batches.living_at(row.counts_at)}
    values: list[tuple[Batch, str, int]] = []
    filling = batches.filling_at(row.counts_at).first()
    if told.level and filling is not None:
        values.append((filling, Reading.Kind.LEVEL_PERCENT, LEVELS[told.level]))
    for one in told.readings:
        batch = living.get(one.batch_uid)
        if batch is None:
            raise Refused({"readings": _("One of these lots was not in this drum at that time.")})
        values += [(batch, kind, value) for kind, value in _values(one, told.air_tenths_c)]
    for batch, kind, value in values:
        ledger.add(
            Reading(
                uid=uuid5(row.uid, f"{kind} {batch.uid}"),
                fingerprint=print_,
                **when,
                via=via,
                visit=row,
                batch=batch,
                kind=kind,
                value=value,
            )
        )
    return row


def _values(one: BatchReading, air_tenths_c: int | None) -> list[tuple[str, int]]:
    values: list[tuple[str, int]] = []
    if one.drum_tenths_c is not None:
        values.append((Reading.Kind.DRUM_TENTHS_C, one.drum_tenths_c))
        if air_tenths_c is not None:  # the air is read for what it is compared with
            values.append((Reading.Kind.AIR_TENTHS_C, air_tenths_c))
    if one.squeeze:
        values.append((Reading.Kind.SQUEEZE, SQUEEZES.index(Squeeze(one.squeeze))))
    if one.smell:
        values.append((Reading.Kind.SMELL_BAD, SMELLS[one.smell]))
    return values


def _reading(raw: Mapping[str, Any], unit: str, errors: dict[str, str]) -> BatchReading:
    reader = Reader(raw)
    found = BatchReading(
        batch_uid=reader.uid("batch"),
        drum_tenths_c=temperature(reader, "temperature", unit),
        squeeze=reader.choice("squeeze", [*Squeeze]) if raw.get("squeeze") else "",
        smell=reader.choice("smell", [*SMELLS]) if raw.get("smell") else "",
    )
    errors.update({f"{name}-{raw.get('batch', '')}": text for name, text in reader.errors.items()})
    return found


def temperature(reader: Reader, name: str, unit: str) -> int | None:
    """Tenths of a degree Celsius from a number in either unit."""
    if unit == "c":
        return reader.tenths(name, LOWEST_TENTHS_C, HIGHEST_TENTHS_C)
    tenths_f = reader.tenths(name, -760, 2120)  # the same range: -76 to 212 °F
    return None if tenths_f is None else round((tenths_f - 320) * 5 / 9)
