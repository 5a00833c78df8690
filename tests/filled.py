"""Two buildings full of rows: the life of the main line by the real services, and a row of any table there is."""

import datetime as dt
import itertools
from collections.abc import Iterator
from typing import Any
from uuid import uuid4, uuid5

from django.core.exceptions import ValidationError
from django.db import connection, models
from django.db.models import F, Q

from bins.care.maturity_tests import BeginTest, begin_test
from bins.care.visit import CareVisit, record_visit
from bins.cases.cases import Report, receive
from bins.decisions import night
from bins.intake.buckets import BucketTold, add_bucket
from bins.intake.dropoff import DropOff, record_drop_off, undo_drop_off
from bins.models import Batch, Decision, Drum
from bins.sheets.importing import take_file
from coordinator import walls
from households.models import ApiToken, Building, KeptFile, Notice, Person
from households.tenancy import has_second_wall, inside

from .cast import NOW, Cast

HOUR = dt.timedelta(hours=1)
SECRET = "known-to-the-tests-alone"


def go_outside() -> None:
    """Leave every building. A test's own transaction goes on after `inside`, and the settings with it."""
    if has_second_wall():
        with connection.cursor() as cursor:
            for name in ("drums.door", "drums.buildings", "drums.account"):
                cursor.execute("SELECT set_config(%s, '', true)", [name])


# The main line --------------------------------------------------------------------------------------


def live(cast: Cast) -> None:
    """In both blocks: two drop-offs, one taken back, visits, a proposal that waits, a token, a notice."""
    _live(cast.building, cast.drum, cast.resident, cast.caretaker)
    _live(cast.elsewhere, cast.elsewhere_drum, cast.elsewhere_person, cast.elsewhere_person)
    go_outside()


def _live(of: Building, drum: Drum, resident: Person, caretaker: Person) -> None:
    with inside(of.uid) as here:
        for number, quarter_pails in enumerate((4, 8)):
            row = record_drop_off(
                building=here,
                told=DropOff.from_raw(
                    {"uid": uuid5(here.uid, f"drop-off {number}"), "drum": drum.uid, "quarter_pails": quarter_pails}
                ),
                household=resident.household,
                person=resident,
                via="web",
                now=NOW,
            ).row
        undo_drop_off(building=here, row=row, person=resident, via="web", now=NOW)
        for number in range(2):
            record_visit(
                building=here,
                told=CareVisit.from_raw(
                    {"uid": uuid5(here.uid, f"visit {number}"), "drum": drum.uid, "turned": True, "level": "full"}
                ),
                person=caretaker,
                via="web",
                now=NOW + (1 + 24 * number) * HOUR,
            )
        filling = Batch.objects.within(here).get(drum=drum, stage="filling")
        begun = BeginTest.from_raw({"uid": uuid5(here.uid, "test"), "batch": filling.uid, "kind": "bag"})
        begin_test(building=here, told=begun, person=caretaker, via="web", now=NOW)
        report = Report.from_raw({"uid": uuid5(here.uid, "report"), "kind": "smell", "drum": drum.uid})
        receive(building=here, told=report, language="en", now=NOW)
        sheet = b"date,household,pails\n"
        take_file(
            building=here, uid=uuid5(here.uid, "sheet"), kind="contributions", content=sheet, person=caretaker, now=NOW
        )
        cellar = {"name": "cellar", "drum": drum.uid, "litres": 40, "bedding_litres": 10}
        KeptFile.objects.create(building=here, uid=uuid5(here.uid, "export"), name="figures.zip", made_at=NOW)
        add_bucket(building=here, told=BucketTold.from_raw(cellar | {"uid": uuid5(here.uid, "bucket")}), now=NOW)
        at = NOW + 48 * HOUR
        night.apply(here, night.decide(night.gather(here, at)), at, uuid5(here.uid, "night"))
        give_token(here, caretaker)
        Notice.post(building=here, kind="test", to="x@example.invalid", subject="s", body="b", due_at=NOW)


def give_token(here: Building, person: Person, days: int = 3650) -> str:
    """A token of a person, made at NOW; its secret."""
    secret = f"{SECRET} {person.uid} {days}"
    ApiToken.objects.create(
        building=here,
        uid=uuid5(person.uid, f"token {days}"),
        person=person,
        name="scale",
        secret_hash=ApiToken.hash_of(secret.replace(" ", "-")),
        created_at=NOW,
        expires_at=NOW + dt.timedelta(days=days),
    )
    return secret.replace(" ", "-")


def decision_of(building: Building) -> Decision:
    with inside(building.uid) as here:
        decision: Decision = Decision.objects.within(here).proposed().get()
    go_outside()
    return decision


# Any table ------------------------------------------------------------------------------------------


def fill(cast: Cast) -> None:
    """At least one row of every table with a building, in both blocks."""
    live(cast)
    for block in (cast.building, cast.elsewhere):
        with inside(block.uid) as here:
            for model in walls.tenant_models():
                if not model._base_manager.filter(building=here).exists():
                    fresh(model, here)
    go_outside()


def fresh(model: type[models.Model], building: Building) -> models.Model:
    """A saved row with parents of its own, so that nothing else points at any of them."""
    row = draft(model, building)
    row.save(force_insert=True)
    return row


_found: dict[tuple[type[models.Model], frozenset[str]], dict[str, Any]] = {}
_numbers = itertools.count(1_000_000)


def draft(model: type[models.Model], building: Building, **fixed: int) -> models.Model:
    """An unsaved row that the table's own checks allow. `fixed` are columns of keys given from outside.

    Values are searched for once a table, among those that its checks name, so that a new table needs no maker.
    """
    row = model(**fixed)
    row.building_id = building.pk  # type: ignore[attr-defined]
    for field in model._meta.concrete_fields:
        if field.attname not in fixed and field.name not in ("id", "building"):
            setattr(row, field.attname, _first(field, building))
    known = _found.get((model, frozenset(fixed)))
    if known is None:
        known = _found[model, frozenset(fixed)] = dict(_search(row, fixed, building))
    for attname, value in known.items():
        field = next(f for f in model._meta.concrete_fields if f.attname == attname)
        setattr(row, attname, fresh(field.related_model, building).pk if value and field.is_relation else value)
    return row


def _is_once_a_building(field: Any) -> bool:
    """Whether no second row of the building may hold the same value, so that each needs another one."""
    return any(
        isinstance(c, models.UniqueConstraint) and set(c.fields) == {"building", field.name}
        for c in field.model._meta.constraints
    )


def _first(field: Any, building: Building) -> Any:
    if field.is_relation:
        return None if field.null else fresh(field.related_model, building).pk
    if field.name == "ledger_number":
        return next(_numbers)
    if field.has_default():
        return field.get_default()
    if field.null:
        return None
    if field.choices:
        return next(value for value, _ in field.flatchoices)
    match field:
        case models.DateField() if not isinstance(field, models.DateTimeField) and _is_once_a_building(field):
            return NOW.date() + dt.timedelta(days=next(_numbers) - 1_000_000)
        case models.DateTimeField():
            return NOW
        case models.DateField():
            return NOW.date()
        case models.BooleanField():
            return False
        case models.IntegerField():
            return 1
        case models.UUIDField():
            return uuid4()
        case models.CharField() | models.TextField():
            return "" if field.blank else uuid4().hex[: field.max_length or 32]
        case models.JSONField():
            return {}
        case models.TimeField():
            return dt.time(18)
        case models.BinaryField():
            return b"x"
    raise NotImplementedError(f"{field}: say in tests/filled.py what such a field may hold")


def _search(row: models.Model, fixed: dict[str, int], building: Building) -> Iterator[tuple[str, Any]]:
    """The values to set, mending one broken check after another and going back where that breaks an earlier one."""
    checks = [c for c in row._meta.constraints if isinstance(c, models.CheckConstraint)]
    told: dict[str, list[Any]] = {}
    for check in checks:
        _named(check.condition, told)
    fields = {f.name: f for f in row._meta.concrete_fields if f.name in told and f.attname not in fixed}
    choices: dict[str, list[Any]] = {}
    before = {f.attname: getattr(row, f.attname) for f in fields.values()}
    tries = itertools.count()

    def is_broken(check: models.CheckConstraint) -> bool:
        try:
            check.validate(type(row), row)
        except ValidationError:
            return True
        return False

    def mend(settled: frozenset[str]) -> bool:
        """`settled` are fields that an earlier check has chosen: they stay unless nothing else helps."""
        fault = next(filter(is_broken, checks), None)
        if fault is None:
            return True
        mine: dict[str, list[Any]] = {}
        _named(fault.condition, mine)
        free = [name for name in mine if name in fields and name not in settled]
        for name in free:
            if name not in choices:
                choices[name] = list(_candidates(fields[name], before[fields[name].attname], told[name], building))
        was = {name: getattr(row, fields[name].attname) for name in free}
        for values in itertools.product(*(choices[name] for name in free)):
            if next(tries) > 20_000:
                break
            for name, value in zip(free, values, strict=True):
                setattr(row, fields[name].attname, value)
            if not is_broken(fault) and mend(settled | set(free)):
                return True
        for name, value in was.items():
            setattr(row, fields[name].attname, value)
        return False

    assert mend(frozenset()), f"no values found for {type(row).__name__}: help the search in tests/filled.py"
    for name, field in fields.items():
        if getattr(row, field.attname) != before[field.attname]:
            yield fields[name].attname, getattr(row, field.attname)


def _named(condition: Any, into: dict[str, list[Any]]) -> None:
    """Field -> values that a condition names beside it."""
    for child in condition.children if isinstance(condition, Q) else ():
        if isinstance(child, Q):
            _named(child, into)
        elif isinstance(child, tuple):
            name, value = child[0].split("__")[0], child[1]
            values = into.setdefault(name, [])
            if hasattr(value, "resolve_expression"):
                for other in _read_by(value):
                    into.setdefault(other, [])
            elif isinstance(value, list | tuple | set):
                values += value
            elif not isinstance(value, bool) or not child[0].endswith("__isnull"):
                values.append(value)


def _read_by(expression: Any) -> Iterator[str]:
    """Names of the fields in an expression."""
    if isinstance(expression, F):
        yield expression.name
    elif expression is not None and hasattr(expression, "get_source_expressions"):
        for part in expression.get_source_expressions():
            yield from _read_by(part)


def _candidates(field: Any, present: Any, named: list[Any], building: Building) -> Iterator[Any]:
    tried: list[Any] = []
    plain = [value for value in named if not hasattr(value, "resolve_expression")]
    more: list[Any] = [*plain, *(value for value, _ in field.flatchoices or ())]
    match field:
        case _ if field.is_relation:
            more = [fresh(field.related_model, building).pk]
        case models.DateTimeField():
            more += [NOW, NOW + HOUR]
        case models.DateField():
            more += [NOW.date(), NOW.date() + dt.timedelta(days=1)]
        case models.BooleanField():
            more += [True, False]
        case models.PositiveIntegerField() | models.PositiveSmallIntegerField() | models.PositiveBigIntegerField():
            more = [value for value in more if value >= 0] + [0, 1, 100]
        case models.IntegerField():
            more += [0, 1, 100, -1]
        case models.UUIDField():
            more += [uuid4()]
        case models.CharField() | models.TextField():
            more += ["x"]
    for value in [present, *([None] if field.null else []), *more]:
        if value not in tried and (field.null or value is not None):
            tried.append(value)
            yield value
