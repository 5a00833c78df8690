"""What can be done with a care visit: record it once, with all that was read at the drum."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from bins.decisions.gather import SQUEEZES
from bins.decisions.trouble import think
from bins.duties.doing import turning_done
from bins.models import Batch, Drum, Place, Reading, ToldSymptom, Visit, VisitAttribution
from bins.process.reading import Squeeze
from bins.process.symptom import CODES, Symptom
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
    symptoms: tuple[str, ...] = ()  # what is wrong with it, or ToldSymptom.WELL alone


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
    turned_place_uid: UUID | None = None  # the one hatch that was turned; None: all of the drum, or nothing

    @property
    def tells_trouble(self) -> bool:
        """Whether it says or measured anything that may mean trouble, or that a trouble is over."""
        return self.trouble in CODES or any(one.symptoms or one.squeeze or one.smell for one in self.readings)

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values (text or JSON). Raises Refused with every fault named.

        turned_place: the hatch that alone was turned, of a drum whose hatches turn apart.
        temperature_unit: c (default) or f, for `air` and each reading's `temperature`; stored in tenths of °C.
        readings: mappings with `batch` and any of `temperature`, `squeeze`, `smell`, `symptoms` (a list of codes, or
        "well" alone); a fault is named with its batch, as `temperature-<batch>`. trouble: the first symptom, if
        absent.
        """
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        unit = reader.choice("temperature_unit", ["c", "f"], "c")
        told = raw.get("readings") or ()
        if not isinstance(told, list | tuple) or not all(isinstance(one, Mapping) for one in told):
            reader.errors["readings"] = _("A list of readings, each with its batch, is needed.")
            told = ()
        readings = tuple(_reading(one, unit, reader.errors) for one in told)
        symptoms = [symptom for one in readings for symptom in one.symptoms if symptom != ToldSymptom.WELL]
        found = cls(
            uid=reader.uid(),
            drum_uid=reader.uid("drum"),
            happened_at=None if happened_at == nothing else happened_at,
            turned=reader.yes("turned"),
            level=reader.choice("level", [*LEVELS]) if raw.get("level") else "",
            trouble=reader.choice("trouble", [*Visit.Trouble.values], next(iter(symptoms), Visit.Trouble.NOTHING)),
            air_tenths_c=temperature(reader, "air", unit),
            readings=readings,
            turned_place_uid=reader.uid("turned_place") if raw.get("turned_place") else None,
        )
        if found.turned_place_uid is not None and not found.turned:
            reader.errors["turned_place"] = _("A hatch is named, and yet nothing was turned. Which is it?")
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

    What is said to be wrong with a batch is thought about at once: its proposal stands on the list when this returns.
    Raises Drum.DoesNotExist for a drum of another building, Refused for a reading of a batch that was not in
    this drum's care and for a hatch that is not this drum's, UidReused for a uid with other values.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(Visit, building, told.uid, print_):
            return Recorded(known, is_new=False)
        drum = Drum.objects.within(building).get(uid=told.drum_uid)
        row = add_visit(ledger, told, drum, person, via, now, print_)
        if told.tells_trouble:
            think(building, drum, now, row.uid)
        return Recorded(row, is_new=True)


def add_visit(
    ledger: Ledger, told: CareVisit, drum: Drum, person: Person | None, via: str, now: dt.datetime, print_: str
) -> Visit:
    """The rows of a visit that is new, in an open book."""
    when = asdict(times(told.happened_at or now, now, via))
    row = ledger.add(
        Visit(
            uid=told.uid, fingerprint=print_, **when, via=via, drum=drum, turned=told.turned,
            turned_place=_turned_alone(ledger.building, told, drum), trouble=told.trouble,
        )
    )  # fmt: skip
    sign(VisitAttribution, row, person)
    if told.turned and via != Visit.Via.IMPORT:  # a sheet doesn't say who came
        turning_done(ledger.building, person.household_id if person else None, drum.site_id, row.counts_at)
    batches = Batch.objects.within(ledger.building).filter(drum=drum)
    living = {batch.uid: batch for batch in batches.living_at(row.counts_at)}
    values: list[tuple[Batch, str, int]] = []
    filling = batches.filling_at(row.counts_at).first()
    if told.level and filling is not None:
        values.append((filling, Reading.Kind.LEVEL_PERCENT, LEVELS[told.level]))
    symptoms: list[tuple[Batch, str]] = []
    for one in told.readings:
        batch = living.get(one.batch_uid)
        if batch is None:
            raise Refused({"readings": _("One of these lots was not in this drum at that time.")})
        values += [(batch, kind, value) for kind, value in _values(one, told.air_tenths_c)]
        symptoms += [(batch, symptom) for symptom in one.symptoms]
    if told.trouble in CODES and not symptoms and (ill := filling or _youngest(living.values())):
        symptoms.append((ill, told.trouble))  # nobody said which hatch: most trouble is where scraps go in
    for batch, symptom in symptoms:
        ledger.add(
            ToldSymptom(
                uid=uuid5(row.uid, f"symptom {symptom} {batch.uid}"),
                fingerprint=print_,
                **when,
                via=via,
                visit=row,
                batch=batch,
                kind=symptom,
            )
        )
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


def _turned_alone(building: Building, told: CareVisit, drum: Drum) -> Place | None:
    """The one hatch that was turned. Where they turn together, turning one of them has turned them all."""
    if told.turned_place_uid is None:
        return None
    place: Place | None = Place.objects.within(building).filter(drum=drum, uid=told.turned_place_uid).first()
    if place is None:
        raise Refused({"turned_place": _("There is no such hatch on this drum.")})
    return place if drum.turns == Drum.Turns.APART else None


def _youngest(batches: Iterable[Batch]) -> Batch | None:
    return max(batches, key=lambda batch: (batch.opened_at, batch.pk), default=None)


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
        symptoms=_symptoms(reader),
    )
    errors.update({f"{name}-{raw.get('batch', '')}": text for name, text in reader.errors.items()})
    return found


def _symptoms(reader: Reader) -> tuple[str, ...]:
    """Codes in the order of the table, each once; "well" stands alone."""
    told = reader.raw.get("symptoms") or ()
    known = [*map(str, Symptom), ToldSymptom.WELL]
    if not isinstance(told, list | tuple) or not all(isinstance(one, str) and one in known for one in told):
        reader.errors["symptoms"] = _("One or more of these are needed, as a list: %(choices)s.") % {
            "choices": ", ".join(known)
        }
        return ()
    if ToldSymptom.WELL in told and len(set(told)) > 1:
        reader.errors["symptoms"] = _("Is it well again, or is something wrong? Both can't be.")
        return ()
    return tuple(one for one in known if one in told)


def temperature(reader: Reader, name: str, unit: str) -> int | None:
    """Tenths of a degree Celsius from a number in either unit."""
    if unit == "c":
        return reader.tenths(name, LOWEST_TENTHS_C, HIGHEST_TENTHS_C)
    tenths_f = reader.tenths(name, -760, 2120)  # the same range: -76 to 212 °F
    return None if tenths_f is None else round((tenths_f - 320) * 5 / 9)
