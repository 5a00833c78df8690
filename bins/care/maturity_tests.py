"""Home tests of a batch that rests: begun, and read some days later."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Self
from uuid import UUID

from django.utils.translation import gettext as _

from bins.care.visit import temperature
from bins.models import Batch, MaturityResult, MaturityResultAttribution, MaturityTest, MaturityTestAttribution
from bins.process.maturity import BAG_DAYS, LEAST_SEEDS, PlainSoil
from bins.records import Reader, Refused
from bins.signature import sign
from households.ledger import already, fingerprint, open_ledger, times
from households.models import Building, Person

# When a test can be read: the bag by its rule; radish sprouts and the flask's peak show within (chosen) days.
READ_AFTER_DAYS = {MaturityTest.Kind.BAG: BAG_DAYS, MaturityTest.Kind.SEEDS: 7, MaturityTest.Kind.FLASK: 5}
MOST_SEEDS = 100
LONGEST_ROOT_MM = 300


@dataclass(frozen=True)
class BeginTest:
    uid: UUID
    batch_uid: UUID
    kind: str
    happened_at: dt.datetime | None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        told = cls(
            uid=reader.uid(),
            batch_uid=reader.uid("batch"),
            kind=reader.choice("kind", [*MaturityTest.Kind.values]),
            happened_at=None if happened_at == nothing else happened_at,
        )
        reader.finish()
        return told


@dataclass(frozen=True)
class ReadTest:
    """Raw results of one kind: `bad_smell`; `sown` and `sprouted`; or `highest` and `room` in degrees.

    Seeds may be compared with the same in plain potting soil: `soil_sown` and `soil_sprouted`, and with both the
    mean length of the roots in mm, `root_mm` and `soil_root_mm`.
    """

    uid: UUID
    test_uid: UUID
    kind: str
    happened_at: dt.datetime | None
    bad_smell: bool | None
    sown: int | None
    sprouted: int | None
    highest_tenths_c: int | None
    room_tenths_c: int | None
    soil: PlainSoil | None = None

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values. kind names the test; temperature_unit: c (default) or f."""
        reader = Reader(raw)
        nothing = dt.datetime.min.replace(tzinfo=dt.UTC)
        happened_at = reader.instant("happened_at", nothing)
        kind = reader.choice("kind", [*MaturityTest.Kind.values])
        smell = sown = sprouted = highest = room = soil = None
        if kind == MaturityTest.Kind.BAG:
            smell = reader.choice("bad_smell", ["yes", "no", "true", "false", "True", "False"]).lower() in (
                "yes",
                "true",
            )
        elif kind == MaturityTest.Kind.SEEDS:
            sown, sprouted = _needed(reader, "sown", LEAST_SEEDS), _needed(reader, "sprouted", 0)
            if sown is not None and sprouted is not None and sprouted > sown:
                reader.errors["sprouted"] = _("No more can sprout than were sown.")
            soil = _soil(reader)
        elif kind == MaturityTest.Kind.FLASK:
            unit = reader.choice("temperature_unit", ["c", "f"], "c")
            highest, room = _degrees(reader, "highest", unit), _degrees(reader, "room", unit)
        told = cls(
            uid=reader.uid(),
            test_uid=reader.uid("test"),
            kind=kind,
            happened_at=None if happened_at == nothing else happened_at,
            bad_smell=smell,
            sown=sown,
            sprouted=sprouted,
            highest_tenths_c=highest,
            room_tenths_c=room,
            soil=soil,
        )
        reader.finish()
        return told


def begin_test(
    *, building: Building, told: BeginTest, person: Person | None, via: str, now: dt.datetime
) -> MaturityTest:
    """Write down that a test was begun. Once a uid. Raises Batch.DoesNotExist for one of another building."""
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(MaturityTest, building, told.uid, print_):
            return known
        batch = Batch.objects.within(building).get(uid=told.batch_uid)
        when = asdict(times(told.happened_at or now, now))
        row = ledger.add(MaturityTest(uid=told.uid, fingerprint=print_, **when, via=via, batch=batch, kind=told.kind))
        sign(MaturityTestAttribution, row, person)
    return row


def read_test(
    *, building: Building, told: ReadTest, person: Person | None, via: str, now: dt.datetime
) -> MaturityResult:
    """Write down what a test showed. Once a uid, and once a test: whoever doubts it begins another.

    Raises MaturityTest.DoesNotExist for a test of another building, Refused for one that was read, is of another
    kind or had not begun.
    """
    print_ = fingerprint(asdict(told) | {"via": via})
    with open_ledger(building) as ledger:
        if known := already(MaturityResult, building, told.uid, print_):
            return known
        test = MaturityTest.objects.within(building).select_related("batch").get(uid=told.test_uid)
        when = times(told.happened_at or now, now)
        if MaturityResult.objects.within(building).filter(test=test).exists():
            raise Refused({"test": _("This test was read already. The first reading was kept. You can begin another.")})
        if test.kind != told.kind:
            raise Refused({"kind": _("This test is of another kind.")})
        if when.counts_at < test.counts_at:
            raise Refused({"happened_at": _("The test had not begun then.")})
        row = ledger.add(
            MaturityResult(
                uid=told.uid,
                fingerprint=print_,
                **asdict(when),
                via=via,
                test=test,
                bad_smell=told.bad_smell,
                sown=told.sown,
                sprouted=told.sprouted,
                highest_tenths_c=told.highest_tenths_c,
                room_tenths_c=told.room_tenths_c,
                soil_sown=told.soil.sown if told.soil else None,
                soil_sprouted=told.soil.sprouted if told.soil else None,
                root_mm=told.soil.compost_root_mm if told.soil else None,
                soil_root_mm=told.soil.soil_root_mm if told.soil else None,
            )
        )
        sign(MaturityResultAttribution, row, person)
    return row


def readable_from(test: MaturityTest) -> dt.datetime:
    """From when on a test can be read."""
    return test.counts_at + dt.timedelta(days=READ_AFTER_DAYS[MaturityTest.Kind(test.kind)])


def _needed(reader: Reader, name: str, least: int) -> int | None:
    number = reader.whole(name, least, MOST_SEEDS)
    if number is None and name not in reader.errors:
        reader.errors[name] = _("How many?")
    return number


def _soil(reader: Reader) -> PlainSoil | None:
    """What grew in plain soil; None where nobody sowed there. Roots are measured in both or in neither."""
    sown, sprouted = reader.whole("soil_sown", 1, MOST_SEEDS), reader.whole("soil_sprouted", 1, MOST_SEEDS)
    roots = [reader.whole(name, 1, LONGEST_ROOT_MM) for name in ("root_mm", "soil_root_mm")]
    if sown is not None and sprouted is not None and sprouted > sown:
        reader.errors["soil_sprouted"] = _("No more can sprout than were sown.")
    elif (sown is None) != (sprouted is None) or (sown is None and any(roots)):
        reader.errors.setdefault("soil_sown", _("Of the plain soil two numbers are needed: sown and sprouted."))
    if (roots[0] is None) != (roots[1] is None):
        reader.errors.setdefault("root_mm", _("Roots are compared: measure them in both pots, or leave both empty."))
    if reader.errors or sown is None or sprouted is None:
        return None
    return PlainSoil(sown, sprouted, roots[0], roots[1])


def _degrees(reader: Reader, name: str, unit: str) -> int | None:
    tenths = temperature(reader, name, unit)
    if tenths is None and name not in reader.errors:
        reader.errors[name] = _("How warm was it?")
    return tenths
